"""What a sheet says about one voicing.

The strings room describes the voicing; here that is put together with what the player wrote.
With a whole capo the shape name is the concert name moved down by the capo, so that both are
the same reading of the chord; with a partial capo the shape is named from its own notes.
"""

from __future__ import annotations

from functools import lru_cache
from itertools import pairwise
from typing import NamedTuple

from logbook.errors import LogbookError
from logbook.records.chord_names import claimed_name
from logbook.records.context import sounding_pitches, transposition_of
from logbook.records.part_view import PartView
from logbook.records.parts import Voicing as VoicingRecord
from logbook.strings.capo import Capos
from logbook.strings.ornaments import read_ornaments
from logbook.strings.ring import AVOID
from logbook.strings.tunings import StringTuning
from logbook.strings.voicing import GuideTone, SoundingVoicing, describe
from logbook.theory.compass import moved_note
from logbook.theory.degrees import degree_in_chord
from logbook.theory.judge import EXACT, judge
from logbook.theory.keys import parse_key
from logbook.theory.names import name_chord
from logbook.theory.notes import pitch_class
from logbook.theory.pitch import name_to_midi
from logbook.theory.symbols import read_symbol, reads

_AS_GOOD = 18
"""How much dearer than the best, in tenths of a point, a name may be and still stand beside it."""
_MAY_MISS = frozenset({7})


class RingLine(NamedTuple):
    """One string that no finger holds: may it ring?

    `string` is the players' number, `kind` "chord tone", "tension" or "avoid" (empty where the
    chord has no name), `said` whether the player noted it, `below_bass` whether it would be the
    lowest note.
    """

    string: int
    note: str
    degree: str
    kind: str
    why: str
    said: bool
    below_bass: bool = False


class OtherName(NamedTuple):
    """Another name that fits the same notes, and why it stands behind."""

    symbol: str
    why: str


class ChordCard(NamedTuple):
    """One voicing as a sheet shows it.

    `notes`, `degrees` and `fingers` have an entry for each string, low to high, None where there
    is none. `remark` is what there is to say about the written name, `problem` why the voicing
    cannot be worked out. `drawn` is the strings room's description, for forms that draw it.
    Of an instrument without frets `notes` sound, and `written_notes` and `written_name` are what
    a transposing player reads, empty where that is the same.
    """

    label: str
    written: str
    concert: str
    shape: str
    counted: str
    as_written: str
    from_nut: str = ""
    from_capo: str = ""
    notes: tuple[str | None, ...] = ()
    degrees: tuple[str | None, ...] = ()
    fingers: tuple[str | None, ...] = ()
    fingers_proposed: bool = False
    guide_tones: tuple[GuideTone, ...] = ()
    not_played: tuple[int, ...] = ()
    avoid: tuple[RingLine, ...] = ()
    may_ring: tuple[RingLine, ...] = ()
    ornaments: tuple[str, ...] = ()
    also: tuple[OtherName, ...] = ()
    stretch_mm: float | None = None
    caution: str = ""
    remark: str = ""
    said: str = ""
    problem: str = ""
    drawn: SoundingVoicing | None = None
    written_notes: tuple[str, ...] = ()
    written_name: str = ""


def chord_card(
    place: PartView, record: VoicingRecord, tuning: StringTuning | None, capos: Capos
) -> ChordCard:
    """Return the card of one voicing of a part; what cannot be read is said on it."""
    instrument = place.instrument
    if tuning is None and not record.frets:
        return _played_card(
            record, place.part.pitched, transposition_of(place.log, place.part), place.version.key
        )
    return _card(
        record,
        record.counted or place.part.counted,
        place.version.key,
        "" if claimed_name(record) else _name_after(place, record.label),
        instrument.scale_mm if instrument else None,
        tuning,
        capos,
    )


@lru_cache(maxsize=4096)
def _played_card(record: VoicingRecord, pitched: str, transposition: int, key: str) -> ChordCard:
    """The card of a chord on an instrument without frets: its notes, or its symbol alone."""
    claimed = claimed_name(record)
    card = ChordCard(
        label=record.label,
        written=claimed,
        concert=claimed or record.label,
        shape="",
        counted="",
        as_written=record.pitches,
        said=record.notes,
    )
    problem = remark = ""
    try:
        if record.pitches:
            names = sounding_pitches(record.pitches, pitched, transposition)
            midi = [name_to_midi(each) for each in names]
            verdict = judge(claimed, midi, key=key or None) if claimed else None
            best = name_chord(midi, key=key or None)[0]
            agrees = verdict is not None and verdict.agrees
            concert = claimed if agrees else best.symbol if best.named else claimed or record.label
            if verdict is not None and verdict.word != EXACT and (len(midi) > 1 or not agrees):
                remark = verdict.sentence
            written = tuple(moved_note(each, transposition) for each in names)
            card = card._replace(
                concert=concert,
                notes=names,
                degrees=_degrees(concert, midi),
                written_notes=written if transposition else (),
                remark=remark,
            )
        if transposition % 12 and reads(card.concert):
            card = card._replace(written_name=written_name(card.concert, transposition, key))
    except LogbookError as error:
        problem = str(error)
    return card._replace(shape=card.written_name, problem=problem)


def _degrees(name: str, midi: list[int]) -> tuple[str | None, ...]:
    if not reads(name) or (symbol := read_symbol(name)).is_no_chord:
        return (None,) * len(midi)
    root = pitch_class(symbol.root)
    return tuple(degree_in_chord(each - root, symbol.degrees) for each in midi)


def written_name(name: str, transposition: int, key: str) -> str:
    """A chord's name as a transposing player reads it, `transposition` semitones above it."""
    old = parse_key(key) if key else None
    new = old.transpose(transposition) if old else None
    return read_symbol(name).transpose(transposition, new, old=old).symbol


def _name_after(place: PartView, label: str) -> str:
    """The name written for the chord that first follows a voicing on the part's chart."""
    names = {each.label: claimed_name(each) for each in place.part.voicings}
    for entry, then in pairwise(place.part.chart):
        if entry.voicing == label != then.voicing:
            return names.get(then.voicing, "")
    return ""


@lru_cache(maxsize=4096)
def _card(
    record: VoicingRecord,
    counted: str,
    key: str,
    after: str,
    scale_mm: float | None,
    tuning: StringTuning | None,
    capos: Capos,
) -> ChordCard:
    """The same voicing under the same circumstances is the same card, on every sheet of a song."""
    bare = ChordCard(
        label=record.label,
        written=claimed_name(record),
        concert=claimed_name(record) or record.label,
        shape="",
        counted=counted,
        as_written=record.frets,
        said=record.notes,
    )
    if not record.frets:
        return bare._replace(problem="nobody has said its frets yet")
    if tuning is None:
        return bare._replace(problem="no tuning is logged, so these frets name no notes")
    try:
        voicing, problem = _described(record, counted, (key, after), scale_mm, tuning, capos)
        avoid, may_ring = _ring_lines(voicing, record)
        ornaments = tuple(each.text for each in read_ornaments(record.ornaments))
    except LogbookError as error:
        return bare._replace(problem=str(error))
    return bare._replace(
        concert=voicing.chord,
        shape=voicing.shape_name,
        from_nut=voicing.from_nut,
        from_capo=voicing.from_capo,
        notes=tuple(view.note for view in voicing.strings),
        degrees=tuple(view.degree for view in voicing.strings),
        fingers=tuple(view.finger for view in voicing.strings),
        fingers_proposed=voicing.fingers_proposed,
        guide_tones=voicing.guide_tones,
        not_played=voicing.not_played,
        avoid=avoid,
        may_ring=may_ring,
        ornaments=ornaments,
        also=_other_names(voicing),
        stretch_mm=round(voicing.stretch_mm, 1),
        caution=voicing.caution,
        remark=_remark(voicing, may_ring),
        problem=problem,
        drawn=voicing,
    )


_voicing = lru_cache(maxsize=4096)(describe)
"""The same shape under other words and labels is the same voicing."""


def _described(
    record: VoicingRecord,
    counted: str,
    around: tuple[str, str],
    scale_mm: float | None,
    tuning: StringTuning,
    capos: Capos,
) -> tuple[SoundingVoicing, str]:
    """Describe a voicing; fingers that do not fit its frets are left out and said to be wrong.

    `around` is the key and the name of the chord after it, each empty where it is not known.
    """
    key, after = around

    def described(name: str, fingers: str) -> SoundingVoicing:
        return _voicing(
            record.frets,
            tuning,
            capos,
            counted=counted,
            key=key or None,
            after=after or None,
            name=name,
            fingers=fingers,
            scale_mm=scale_mm,
        )

    name = claimed_name(record)
    try:
        return described(name, record.fingers), ""
    except LogbookError as error:
        problem = str(error)
    if record.fingers:
        try:
            return described(name, ""), problem
        except LogbookError:
            pass
    return described("", ""), problem


def _other_names(voicing: SoundingVoicing) -> tuple[OtherName, ...]:
    """The names that fit about as well as the one the card is headed by, such as Am7 beside C6."""
    best = voicing.concert[0]
    if not best.named:
        return ()
    return tuple(
        OtherName(each.symbol, each.why)
        for each in voicing.concert
        if each.cost <= best.cost + _AS_GOOD
        and not each.adds
        and each.omits <= _MAY_MISS
        and (each.bass - each.root) % 12 in each.intervals
        and each.symbol != read_symbol(voicing.chord).symbol
    )[:2]


def _ring_lines(
    voicing: SoundingVoicing, record: VoicingRecord
) -> tuple[tuple[RingLine, ...], tuple[RingLine, ...]]:
    """Strings to avoid, and strings that may ring, high side first."""
    said_avoid, said_ring = string_numbers(record.avoid), string_numbers(record.ring)
    avoid: list[RingLine] = []
    may_ring: list[RingLine] = []
    met = set()
    for ring in voicing.ring:
        met.add(ring.string)
        lets_ring = ring.string in said_ring or ring.played == "may ring"
        said = lets_ring or ring.string in said_avoid
        if not said and (ring.played == "open" or len(voicing.midi) < 2):
            continue
        line = RingLine(
            string=ring.string,
            note=ring.note,
            degree=ring.degree,
            kind=ring.kind,
            why=ring.why,
            said=said,
            below_bass=ring.midi < min(voicing.midi, default=0),
        )
        keep_off = ring.string in said_avoid or (ring.kind == AVOID and not lets_ring)
        (avoid if keep_off else may_ring).append(line)
    sounding = {view.number: view for view in voicing.strings}
    for numbers, lines in ((said_avoid, avoid), (said_ring, may_ring)):
        for number in numbers:
            if number not in met:
                view = sounding.get(number)
                note, degree = (view.note, view.degree) if view else (None, None)
                lines.append(RingLine(number, note or "", degree or "", "", "", True))
    return tuple(sorted(avoid)), tuple(sorted(may_ring))


def string_numbers(text: str) -> tuple[int, ...]:
    """Read string numbers: `6`, `6 5`, `6, 5`, `5-6`.

    Raises LogbookError where one is no number.
    """
    numbers: list[int] = []
    for word in text.replace(",", " ").split():
        first, dash, last = word.partition("-")
        if not first.isdecimal() or (dash and not last.isdecimal()):
            raise LogbookError(
                f"'{word}' is not a string", "string 1 is the highest: write its number, as in 6 5"
            )
        low, high = sorted((int(first), int(last or first)))
        numbers.extend(range(low, min(high, low + 24) + 1))
    return tuple(dict.fromkeys(numbers))


def _remark(voicing: SoundingVoicing, may_ring: tuple[RingLine, ...]) -> str:
    said = []
    verdict, notes = voicing.verdict, len(voicing.midi)
    if verdict is not None and verdict.word != EXACT and (notes > 1 or not verdict.agrees):
        said.append(verdict.sentence)
    said.extend(
        f"string {line.string} is left to ring, and its {line.note} is a note to avoid: {line.why}"
        for line in may_ring
        if line.kind == AVOID
    )
    return "; ".join(said)
