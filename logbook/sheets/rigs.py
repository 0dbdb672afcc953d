"""What a sheet says about how a part was set up: instrument, tuning, capo, which way to count."""

from __future__ import annotations

from typing import NamedTuple

from logbook.errors import LogbookError
from logbook.records.part_view import PartView
from logbook.records.places import Instrument
from logbook.strings.capo import Capo, Capos, string_stops, whole_capo
from logbook.strings.frets import CAPO
from logbook.strings.sounding import unfingered_midi
from logbook.strings.tunings import StringTuning, string_number
from logbook.theory.keys import Key, parse_key
from logbook.theory.pitch import midi_to_name


class StringLine(NamedTuple):
    """A string: its number (1 is the high side), its open pitch, and that with the capos on.

    A course is written with all of its strings ("E3/E2").
    """

    number: int
    open_note: str
    with_capo: str


class Rig(NamedTuple):
    """How a part was set up; empty text is what nobody said.

    `strings` stand low to high. `counted` is the sentence that says how frets are counted.
    `tuning_record` and `capos` are what the strings room works with.
    """

    instrument: str
    tuning: str
    strings: tuple[StringLine, ...]
    reference: str
    capo: str
    counted: str
    concert_key: str
    shape_key: str
    tuned: StringTuning | None
    capos: Capos
    unreadable: tuple[str, ...]


def rig_of(place: PartView) -> Rig:
    """Return how a part was set up; what cannot be read is said."""
    unreadable: list[str] = []
    tuned: StringTuning | None = None
    capos: Capos = ()
    try:
        tuned = place.tuning
    except LogbookError as error:
        unreadable.append(f"tuning: {error}")
    try:
        capos = place.capos
        if tuned is not None:
            string_stops(tuned, capos)
    except LogbookError as error:
        unreadable.append(f"capo: {error}")
    key = _key(place.version.key)
    written = _key(place.part.shape_key)
    if place.part.shape_key and written is None:
        unreadable.append(f"shape key: '{place.part.shape_key}' is not a key")
    instrument = place.instrument
    return Rig(
        instrument=_instrument(place.part.instrument, instrument),
        tuning=tuned.name if tuned else place.part.tuning,
        strings=_strings(tuned, capos, key),
        reference=_reference(tuned),
        capo=capo_said(capos, len(tuned) if tuned else None),
        counted=counted_said(place.part.counted, tuned, capos) if tuned else "",
        concert_key=key.name if key else "",
        shape_key=_shape_key(written, key, tuned, capos),
        tuned=tuned,
        capos=capos,
        unreadable=tuple(unreadable),
    )


def counted_said(counted: str, tuning: StringTuning, capos: Capos) -> str:
    """Say how frets are counted, and what 0 means."""
    if not capos:
        return "Frets are counted from the nut."
    whole = whole_capo(tuning, capos)
    if counted == CAPO:
        if whole:
            return (
                f"Frets are counted FROM THE CAPO: 0 is the open string at the capo, "
                f"1 is fret {whole + 1} of the neck."
            )
        return (
            "Frets are counted FROM THE CAPO on the strings it covers, and from the nut on the "
            "others; 0 is the open string."
        )
    if whole:
        return (
            f"Frets are counted FROM THE NUT, past the capo: 0 is the open string at the capo, "
            f"and the first fret to finger is {whole + 1}."
        )
    return (
        "Frets are counted FROM THE NUT on every string; 0 is the open string, which rings at the "
        "capo where it is covered."
    )


def capo_said(capos: Capos, strings: int | None) -> str:
    """Say what capos are on, and which strings a partial one leaves free."""
    return " and ".join(_capo(capo, strings) for capo in capos) or "none"


def _capo(capo: Capo, strings: int | None) -> str:
    if capo.strings is None:
        return f"fret {capo.fret}, all strings"
    free = [] if strings is None else [n for n in range(1, strings + 1) if n not in capo.strings]
    covered = capo.text.partition(" on ")[2]
    if not free:
        return f"fret {capo.fret}, {covered}"
    word = "string" if len(free) == 1 else "strings"
    left = Capo(capo.fret, tuple(free)).text.partition(f" on {word} ")[2]
    return f"fret {capo.fret}, {covered}; {word} {left} free"


def _key(text: str) -> Key | None:
    try:
        return parse_key(text) if text else None
    except LogbookError:
        return None


def _shape_key(
    written: Key | None, key: Key | None, tuning: StringTuning | None, capos: Capos
) -> str:
    if written is not None:
        return written.name
    whole = whole_capo(tuning, capos) if tuning else None
    if key is None or whole is None:
        return ""
    return key.transpose(-whole).name


def _instrument(name: str, instrument: Instrument | None) -> str:
    if instrument is None:
        return name
    said = [instrument.name]
    if instrument.kind and instrument.kind.casefold() not in instrument.name.casefold():
        said.append(instrument.kind)
    if instrument.gauge:
        said.append(f"strings {instrument.gauge}")
    if instrument.scale_mm:
        said.append(f"scale {instrument.scale_mm:g} mm")
    if instrument.notes:
        said.append(instrument.notes)
    return "; ".join(said)


def _reference(tuning: StringTuning | None) -> str:
    if tuning is None or (tuning.a4_hz == 440.0 and not tuning.offset_cents):
        return ""
    offset = f", {tuning.offset_cents:+g} cents" if tuning.offset_cents else ""
    return f"A4 = {tuning.a4_hz:g} Hz{offset}"


def _strings(tuning: StringTuning | None, capos: Capos, key: Key | None) -> tuple[StringLine, ...]:
    if tuning is None:
        return ()
    stopped = unfingered_midi(tuning, string_stops(tuning, capos))
    count = len(tuning)
    return tuple(
        StringLine(
            string_number(index, count),
            string.text,
            string.text
            if midi == string.midi
            else "/".join(
                midi_to_name(each + midi - string.midi, key) for each in string.course_midi
            ),
        )
        for index, (string, midi) in enumerate(zip(tuning.strings, stopped, strict=True))
    )
