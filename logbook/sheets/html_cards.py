"""What a page shows of a chord card: its names, its diagram, the table of its strings."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from typing import Any

from markupsafe import Markup

from logbook.sheets.chord_words import diagram_said, under_name
from logbook.sheets.chords import ChordCard
from logbook.sheets.looks import Look
from logbook.sheets.signs import in_print, with_signs
from logbook.sheets.svg_chord import LEFT, RIGHT, STRING_GAP, chord_svg, picture_width
from logbook.sheets.text_chords import card_remarks
from logbook.strings.capo import whole_capo
from logbook.strings.ornaments import read_ornaments
from logbook.strings.voicing import SoundingVoicing

View = dict[str, Any]

_MOST_STRINGS = 18


def card_view(card: ChordCard, look: Look) -> View:
    """Return the view of one chord card."""
    drawn = None
    if card.drawn is not None:
        drawn = Markup(
            _diagram(card.drawn, diagram_said(card), card.ornaments, card.counted, look.left_handed)
        )
    return {
        "label": card.label,
        "name": with_signs(card.concert),
        "under": [in_print(each) for each in under_name(card)],
        "svg": drawn,
        "strings": _string_rows(card, look),
        "columns": columns(len(card.drawn.strings) if card.drawn else 0),
        "plain": "" if drawn else _plain(card),
        "remarks": card_remarks(card),
    }


@lru_cache(maxsize=2048)  # a chord is drawn on several sheets
def _diagram(
    voicing: SoundingVoicing,
    label: str,
    ornaments: tuple[str, ...],
    counted: str,
    left_handed: bool,
) -> str:
    return chord_svg(
        voicing,
        label=label,
        ornaments=read_ornaments(", ".join(ornaments)),
        counted=counted,
        left_handed=left_handed,
    )


def _plain(card: ChordCard) -> str:
    """What stands in the place of a diagram: the notes, or frets that could not be drawn."""
    if card.notes:
        sounds = with_signs(" ".join(filter(None, card.notes)))
        if not card.written_notes:
            return sounds
        return f"sounds {sounds}; reads {with_signs(' '.join(card.written_notes))}"
    return f"{card.as_written} (from the {card.counted})" if card.as_written else ""


def _string_rows(card: ChordCard, look: Look) -> list[tuple[str, list[str]]]:
    """The rows of a card's table: string numbers first, then frets, notes, degrees."""
    voicing = card.drawn
    if voicing is None:
        return []
    rows = [("string", [str(view.number) for view in voicing.strings])]
    if voicing.capos:
        mark = {card.counted: " ◂"}
        rows.append((f"nut{mark.get('nut', '')}", _frets(card.from_nut)))
        rows.append((f"capo{mark.get('capo', '')}", _frets(card.from_capo)))
    else:
        rows.append(("fret", _frets(card.from_nut)))
    if card.notes:
        rows.append(("note", [with_signs(note or "–") for note in card.notes]))
        rows.append(("degree", [with_signs(degree or "–") for degree in card.degrees]))
    return [(label, cells[::-1] if look.left_handed else cells) for label, cells in rows]


def _frets(line: str) -> list[str]:
    """The frets of a line; a harmonic in signs narrow enough to stand under its string."""
    return [fret.replace("<", "‹").replace(">", "›") for fret in line.split()]


def columns(strings: int) -> str:
    """The class that sets a card's columns under the strings of its diagram."""
    return f"strings-{strings}" if strings else ""


@lru_cache(maxsize=1)
def column_rules() -> str:
    """What those classes mean, as rules of a style sheet: no element has a style of its own."""
    rules = []
    for strings in range(1, _MOST_STRINGS + 1):
        whole = picture_width(strings)
        table = whole - RIGHT + STRING_GAP / 2
        label = LEFT - STRING_GAP / 2
        rules.append(
            f".strings-{strings}{{--wide:{whole / 16:.2f}rem;--table:{100 * table / whole:.1f}%;"
            f"--label:{100 * label / table:.1f}%}}"
        )
    return "\n".join(rules)


def chord_key(cards: Sequence[ChordCard], look: Look) -> str:
    """How to read the diagrams of these cards; empty where none is drawn."""
    drawn = [card for card in cards if card.drawn is not None]
    if not drawn:
        return ""
    key = "× not played, ○ open, dotted ring: may ring; in the dots fingers 1 to 4, T thumb"
    if any(card.drawn and whole_capo(card.drawn.tuning, card.drawn.capos) for card in drawn):
        key += "; frets on the left from the nut, on the right from the capo"
    else:
        key += "; frets on the left from the nut"
    if any(card.drawn and card.drawn.capos for card in drawn):
        key += "; ◂ the count it was written in"
    if look.left_handed:
        key += "; drawn for the left hand, the bass string on the right"
    guessed = [card.label for card in drawn if card.fingers_proposed]
    if guessed:
        which = "" if len(guessed) == len(drawn) else f" of {in_print(', '.join(guessed))}"
        key += f"; suggested fingering{which}"
    return f"{key}."
