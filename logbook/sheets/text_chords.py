"""Chord cards as text: the name, the diagram, and under it what the strings do.

Frets stand under the strings of the diagram; notes and degrees stand under each other, a column
for each string.
"""

from __future__ import annotations

from collections.abc import Sequence

from logbook.sheets.chord_words import under_name
from logbook.sheets.chords import ChordCard, RingLine
from logbook.sheets.lines import FAINT, NAME, TIED, Line, cut, padded, plain, widest, wrapped
from logbook.sheets.looks import Look
from logbook.sheets.signs import in_print, with_dashes, with_signs
from logbook.strings.capo import whole_capo
from logbook.strings.diagram import ASCII, LEGEND, LEGEND_CAPO, LINES, draw, side_by_side
from logbook.strings.frets import CAPO
from logbook.strings.stretch import WIDE_MM

CARD_WIDTH = 24
_GAP = 3
_NECK_AT = 5  # the column where a diagram's strings begin
_WRITTEN = " <"


def chord_lines(cards: Sequence[ChordCard], look: Look) -> list[Line]:
    """Return chord cards side by side, as many as fit, and a key to what stands on them."""
    drawn = [card_lines(card, look) for card in cards]
    lines: list[Line] = []
    above = 0
    for line in side_by_side(drawn, width=look.width, gap=_GAP):
        above = above + 1 if line else 0
        under = line.lstrip().startswith(("shape ", "“"))
        lines.append(plain(line, NAME if above == 1 else FAINT if under else ""))
    key = chords_key(cards, look)
    return [*lines, (), *(plain(row, FAINT) for row in wrapped(key, look.width))] if key else lines


def chords_key(cards: Sequence[ChordCard], look: Look) -> str:
    """How to read the cards; empty where none has a diagram."""
    drawn = [card for card in cards if card.drawn is not None]
    if not drawn:
        return ""
    voicing = drawn[0].drawn
    assert voicing is not None
    key = LEGEND_CAPO if whole_capo(voicing.tuning, voicing.capos) else LEGEND
    if voicing.capos:
        key += "; < the count it was written in"
    if any(line.below_bass for card in drawn for line in (*card.avoid, *card.may_ring)):
        key += "; low: it would be below the bass"
    if look.left_handed:
        key += "; drawn for the left hand, the bass string on the right"
    guessed = [card.label for card in drawn if card.fingers_proposed]
    if guessed:
        which = "" if len(guessed) == len(drawn) else f" of {in_print(', '.join(guessed))}"
        key += f"; suggested fingering{which}"
    return f"{key}."


def card_lines(card: ChordCard, look: Look, *, bare: bool = False) -> tuple[str, ...]:
    """Return the lines of one card, none of them empty; `bare` leaves names and remarks out."""
    width = max(CARD_WIDTH, _column(card) * len(card.notes))
    rows = []
    if not bare:
        rows = [
            cut(with_signs(card.concert), width),
            *wrapped(", ".join(map(in_print, under_name(card))), width, "  "),
        ]
    if card.drawn is not None:
        voicing = card.drawn
        diagram = draw(
            voicing.position,
            voicing.tuning,
            voicing.capos,
            fingers=voicing.fingers,
            signs=ASCII if look.ascii else LINES,
        )
        rows += _turned(diagram, len(voicing.strings)) if look.left_handed else diagram
        if not look.ascii:
            rows = [with_dashes(row) if row.lstrip().startswith("capo") else row for row in rows]
        rows += _frets(card)
        rows += [_columns(each, _column(card)) for each in (card.notes, card.degrees)]
    elif card.notes:
        rows += played_notes(card)
    elif card.as_written:
        rows.append(f"{card.as_written} (from the {card.counted})")
    for text in () if bare else card_remarks(card):
        rows += wrapped(text, width, "  ")
    return tuple(row for row in rows if row.strip())


def played_notes(card: ChordCard) -> list[str]:
    """The notes of a chord without frets: what sounds over its degrees, and what is read."""
    head = "sounds " if card.written_notes else ""
    wide = _column(card)
    rows = [head + _columns(card.notes, wide), " " * len(head) + _columns(card.degrees, wide)]
    if card.written_notes:
        rows.append("reads  " + _columns(card.written_notes, wide))
    return rows


def _turned(diagram: Sequence[str], strings: int) -> list[str]:
    """A diagram for the left hand: its strings the other way round, its figures as they are."""
    left, right = _NECK_AT, _NECK_AT + 2 * strings - 1
    return [
        line
        if line.lstrip().startswith("capo")
        else line[:left] + line[left:right][::-1] + line[right:]
        for line in diagram
    ]


def _frets(card: ChordCard) -> list[str]:
    voicing = card.drawn
    if voicing is None or not voicing.capos:
        return [f" nut {card.from_nut}"]
    by_capo = card.counted == CAPO
    return [
        f" nut {card.from_nut}{'' if by_capo else _WRITTEN}",
        f"capo {card.from_capo}{_WRITTEN if by_capo else ''}",
    ]


def _column(card: ChordCard) -> int:
    """How wide the column of a string is: a blank at least after its note."""
    return max(4, widest(note or "" for note in card.notes) + 1)


def _columns(texts: Sequence[str | None], wide: int) -> str:
    return "".join(padded(with_signs(text or "-"), wide) for text in texts).rstrip()


def card_remarks(card: ChordCard) -> list[str]:
    """Return what stands under a diagram: guide tones, ringing strings, ornaments, other names."""
    said = []
    if card.guide_tones:
        tones = dict.fromkeys(f"{tone.degree}{TIED}{tone.note}" for tone in card.guide_tones)
        said.append(f"guide tones {', '.join(tones)}")
    if card.may_ring:
        said.append(f"may ring {_strings(card.may_ring)}")
    if card.avoid:
        said.append(f"avoid {_strings(card.avoid)}")
    if card.ornaments:
        said.append(", ".join(card.ornaments))
    if card.stretch_mm and card.stretch_mm >= WIDE_MM:
        said.append(f"wide: {card.stretch_mm:.0f} mm")
    said += [f"or {other.symbol}" for other in card.also]
    said += [text for text in (card.remark, card.said, card.problem) if text]
    return [in_print(text) for text in said]


def _strings(lines: Sequence[RingLine]) -> str:
    return ", ".join(_string(line) for line in lines)


def _string(line: RingLine) -> str:
    place = "low" if line.below_bass else ""
    about = f",{TIED}".join(filter(None, (line.note, line.degree, place)))
    return f"{line.string}{TIED}({about})" if about else str(line.string)
