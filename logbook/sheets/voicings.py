"""The whole answer about one voicing.

`to_dict` gives plain lists, texts and numbers: strings low to high, note names with octave,
frequencies in hertz, lengths in millimetres. The blocks say the same. `one_line` is what a list of
many voicings shows of each.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Any, NamedTuple

from logbook.sheets.blocks import ANSWER_LABELS, Block, Diagram, Facts
from logbook.sheets.looks import Sheet, Wanted
from logbook.strings.capo import string_stops, write_capos
from logbook.strings.diagram import LINES, Signs, draw
from logbook.strings.frets import write_fingers
from logbook.strings.sounding import string_frequency_hz
from logbook.strings.stretch import REACH_MM
from logbook.strings.tunings import StringTuning, string_hz
from logbook.strings.voicing import SoundingVoicing
from logbook.theory.chord_name import ChordName

if TYPE_CHECKING:
    from logbook.strings.finder import Fingering

_OTHER_NAMES = 3
_FITTING_COST = 30  # dearer readings that fit the notes are too far from what anybody says
_CLOSE_COST = 23  # tenths of a point, as in ChordName.cost
_NAMES_IN_DATA = 8


def to_dict(voicing: SoundingVoicing) -> dict[str, Any]:
    """Return everything about a voicing as plain data."""
    return {
        "frets": {
            "written": voicing.line.written,
            "counted": voicing.line.counted,
            "from_nut": voicing.from_nut,
            "from_capo": voicing.from_capo,
        },
        "tuning": tuning_dict(voicing.tuning),
        "capo": {
            "text": write_capos(voicing.capos),
            "capos": [
                {"fret": capo.fret, "strings": None if capo.strings is None else [*capo.strings]}
                for capo in voicing.capos
            ],
            "stops": list(string_stops(voicing.tuning, voicing.capos)),
        },
        "key": None if voicing.key is None else voicing.key.name,
        "shape_key": None if voicing.shape_key is None else voicing.shape_key.name,
        "bass": voicing.bass,
        "chord": voicing.chord,
        "concert_name": voicing.concert[0].symbol,
        "shape_name": voicing.shape_name,
        "also": [name.symbol for name in other_names(voicing.concert)],
        "concert_names": [name_dict(name) for name in voicing.concert[:_NAMES_IN_DATA]],
        "shape_names": [
            name_dict(name) for name in voicing.shape[: _NAMES_IN_DATA if voicing.shape_name else 0]
        ],
        "written_name": _verdict(voicing),
        "notes": list(voicing.notes),
        "midi": list(voicing.midi),
        "strings": _strings(voicing),
        "guide_tones": [tone._asdict() for tone in voicing.guide_tones],
        "ring": [note._asdict() for note in voicing.ring],
        "not_played": list(voicing.not_played),
        "hand": {
            "fingers": None if voicing.fingers is None else write_fingers(voicing.fingers),
            "proposed": voicing.fingers_proposed,
            "barres": [barre._asdict() for barre in voicing.barres],
            "is_barre": bool(voicing.barres),
            "scale_mm": voicing.scale_mm,
            "stretch_mm": round(voicing.stretch_mm, 1),
            "caution": voicing.caution,
        },
        "diagram": list(diagram_of(voicing, titled=False)),
    }


def tuning_dict(tuning: StringTuning) -> dict[str, Any]:
    """Return a tuning as plain data, each string with its pitches and frequencies in hertz."""
    return {
        "name": tuning.name,
        "text": tuning.text,
        "instrument": tuning.kind,
        "a4_hz": tuning.a4_hz,
        "offset_cents": tuning.offset_cents,
        "strings": [
            {
                "number": len(tuning) - index,
                "pitch": string.name,
                "midi": string.midi,
                "course": list(string.course),
                "hz": [round(hz, 3) for hz in string_hz(tuning, index)],
                "starts_at_fret": string.start,
            }
            for index, string in enumerate(tuning.strings)
        ],
    }


def name_dict(name: ChordName) -> dict[str, Any]:
    """Return one reading of the notes as plain data; intervals in semitones above the root."""
    return {
        "symbol": name.symbol,
        "root": name.root,
        "intervals": sorted(name.intervals),
        "bass": name.bass,
        "omits": sorted(name.omits),
        "adds": sorted(name.adds),
        "named": name.named,
        "why": name.why,
    }


def _verdict(voicing: SoundingVoicing) -> dict[str, Any] | None:
    if voicing.verdict is None:
        return None
    return {
        "name": voicing.name,
        "verdict": voicing.verdict.word,
        "agrees": voicing.verdict.agrees,
        "sentence": voicing.verdict.sentence,
        "missing": list(voicing.verdict.missing),
        "extra": list(voicing.verdict.extra),
        "concert": voicing.verdict.concert,
    }


def _strings(voicing: SoundingVoicing) -> list[dict[str, Any]]:
    rows = zip(voicing.strings, voicing.position, voicing.tuning.strings, strict=True)
    return [
        {
            **view._asdict(),
            "course": list(view.course),
            "hz": None if at is None else round(string_frequency_hz(at, string, voicing.tuning), 3),
        }
        for view, at, string in rows
    ]


def diagram_of(
    voicing: SoundingVoicing, *, titled: bool = True, signs: Signs = LINES
) -> tuple[str, ...]:
    """Return a voicing's diagram; `titled` puts the concert name and the shape name above it."""
    title = titles(voicing) if titled else ()
    return draw(
        voicing.position,
        voicing.tuning,
        voicing.capos,
        fingers=voicing.fingers,
        title=title,
        signs=signs,
    )


def titles(voicing: SoundingVoicing) -> tuple[str, ...]:
    """Return what stands over a diagram: the concert name, and under a capo the shape name."""
    if not voicing.capos or not voicing.shape_name:
        return (voicing.chord,)
    return (voicing.chord, f"shape {voicing.shape_name}")


def one_line(voicing: SoundingVoicing) -> str:
    """Return frets, concert name, shape name under a capo, notes and verdict in one line."""
    parts = [voicing.line.text, voicing.concert[0].symbol]
    if voicing.capos and voicing.shape_name:
        parts.append(f"shape {voicing.shape_name}")
    parts.append(" ".join(voicing.notes))
    if voicing.verdict is not None:
        parts.append(voicing.verdict.sentence)
    return "  ".join(parts)


class VoicingAnswer(NamedTuple):
    """What is asked about one voicing: also other ways to hold it (None: not asked).

    `fingers` is how many the hand has for those, `counted` where their frets are counted from.
    """

    voicing: SoundingVoicing
    ways: tuple[Fingering, ...] | None = None
    counted: str = "nut"
    fingers: int = 4


def build(subject: VoicingAnswer, wanted: Wanted) -> Sheet:
    """Return everything about a voicing, ready to be drawn."""
    del wanted
    voicing = subject.voicing
    data = to_dict(voicing)
    blocks: list[Block] = [
        Diagram(voicing, titles(voicing)),
        Facts(tuple(_sayings(voicing)), column=ANSWER_LABELS),
    ]
    if subject.ways is not None:
        from logbook.sheets.finger_ways import other_ways_blocks, ways_to_dicts

        data["other_ways"] = ways_to_dicts(
            subject.ways, voicing.chord, voicing.key, fingers=subject.fingers
        )
        blocks += other_ways_blocks(
            voicing, subject.ways, counted=subject.counted, fingers=subject.fingers
        )
    return Sheet("chord", voicing.chord, data, tuple(blocks), _rows(voicing))


def _rows(voicing: SoundingVoicing) -> tuple[tuple[object, ...], ...]:
    """A row for each string, low to high."""
    head = ("string", "open", "from nut", "from capo", "note", "degree", "finger", "played")
    frets = zip(voicing.from_nut.split(), voicing.from_capo.split(), strict=True)
    return (
        head,
        *(
            (
                view.number,
                string.name,
                nut,
                capo,
                view.note or "",
                view.degree or "",
                view.finger or "",
                view.state,
            )
            for view, string, (nut, capo) in zip(
                voicing.strings, voicing.tuning.strings, frets, strict=True
            )
        ),
    )


def _sayings(voicing: SoundingVoicing) -> Iterable[tuple[str, str]]:
    tuning = voicing.tuning
    yield (
        "Frets",
        f"{voicing.from_nut} from the nut"
        + (f", {voicing.from_capo} from the capo" if voicing.capos else ""),
    )
    named = "" if tuning.name == tuning.text else f"{tuning.name}: "
    pitch = "" if tuning.a4_hz == 440.0 else f", A4 = {tuning.a4_hz:g} Hz"
    pitch += f", {tuning.offset_cents:+g} cents" if tuning.offset_cents else ""
    yield "Tuning", f"{named}{tuning.text}{pitch}"
    if voicing.capos:
        yield "Capo", write_capos(voicing.capos)
    yield "Sounds", _bracketed(voicing, [view.note for view in voicing.strings])
    if any(len(string.course) > 1 and len({*string.course}) > 1 for string in tuning.strings):
        courses = ["/".join(view.course) or view.note for view in voicing.strings]
        yield "Courses", _bracketed(voicing, courses)
    degrees = _bracketed(voicing, [view.degree for view in voicing.strings])
    if degrees:
        yield "Degrees", f"{degrees} of {voicing.chord}"
    if voicing.bass is not None:
        yield "Bass", f"{voicing.bass}, played by another part"
    yield from _names("Concert", voicing.concert)
    if voicing.capos and voicing.shape_name:
        yield "Shape", voicing.shape_name + _in_key(voicing)
    if voicing.verdict is not None:
        yield "Written", f"{voicing.verdict.word}: {voicing.verdict.sentence}"
    if voicing.guide_tones:
        yield (
            "Guide tones",
            ", ".join(
                f"{tone.note} ({tone.degree}) on string {tone.string}"
                for tone in voicing.guide_tones
            ),
        )
    for label, played in (
        ("Ringing", "open"), ("May ring", "may ring"), ("Not played", "not played"),
    ):  # fmt: skip
        for note in voicing.ring:
            if note.played == played:
                yield label, f"string {note.string}, {note.note}: {note.kind}, {note.why}"
                label = ""
    yield from _hand(voicing)


def _bracketed(voicing: SoundingVoicing, texts: Sequence[str | None]) -> str:
    """Return what each string that sounds does, in brackets where it only may ring."""
    return " ".join(
        f"({text})" if view.state == "may ring" else text
        for view, text in zip(voicing.strings, texts, strict=True)
        if text is not None
    )


def _in_key(voicing: SoundingVoicing) -> str:
    return "" if voicing.shape_key is None else f", in {voicing.shape_key.name}"


def _names(label: str, names: tuple[ChordName, ...]) -> Iterable[tuple[str, str]]:
    yield label, f"{names[0].symbol}. {names[0].why}"
    for number, name in enumerate(other_names(names)):
        yield "" if number else "Or", f"{name.symbol}. {name.why}"


def other_names(names: tuple[ChordName, ...]) -> tuple[ChordName, ...]:
    """Return the readings to be said beside the best one.

    Those that come close to it, and those that fit the very same notes however far behind; not a
    chord over a foreign bass where that bass already makes it another chord.
    """
    said: list[ChordName] = []
    met = {names[0].root}
    for name in names[1:]:
        own_bass = _owns_bass(name)
        fits = own_bass and not name.omits and not name.adds and name.cost <= _FITTING_COST
        close = name.cost - names[0].cost <= _CLOSE_COST
        if name.plausible and (fits or close) and (own_bass or name.root not in met):
            said.append(name)
            met.add(name.root)
    whole = {name.root for name in said if _owns_bass(name)}
    kept = [name for name in said if _owns_bass(name) or name.root not in whole]
    return tuple(kept[:_OTHER_NAMES])


def _owns_bass(name: ChordName) -> bool:
    return (name.bass - name.root) % 12 in name.intervals


def _hand(voicing: SoundingVoicing) -> Iterable[tuple[str, str]]:
    if voicing.fingers is None:
        if voicing.stretch_mm > REACH_MM:
            yield "Fingers", f"no hand reaches {voicing.stretch_mm:.0f} mm: not all of this at once"
        else:
            yield "Fingers", "four fingers and the thumb cannot hold this together"
    elif any(voicing.fingers):
        proposed = " (proposed)" if voicing.fingers_proposed else ""
        barres = "".join(
            f", barre at fret {barre.fret} over strings {barre.low}-{barre.high}"
            for barre in voicing.barres
        )
        yield "Fingers", write_fingers(voicing.fingers) + proposed + barres
    yield "Stretch", f"{voicing.stretch_mm:.0f} mm on a scale of {voicing.scale_mm:g} mm"
    if voicing.caution:
        yield "Caution", voicing.caution
