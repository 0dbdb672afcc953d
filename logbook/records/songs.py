"""Songs and their versions: key, meter, tempo, form."""

from __future__ import annotations

from dataclasses import dataclass, field

from logbook.records.arrangements import Arrangement
from logbook.records.deliverables import Deliverable
from logbook.records.fields import holds, needed, noted, written
from logbook.records.files import AudioFile
from logbook.records.lyrics import Lyric
from logbook.records.parts import Part
from logbook.records.people import Role, Share


@dataclass(frozen=True, kw_only=True)
class FormSection:
    """One section of the form: `start` is its first bar, `bars` its length in bars (> 0)."""

    name: str = field(metadata=needed("what it is called", "verse", "name"))
    start: int = field(metadata=needed("its first bar", "5", "read_bar"))
    bars: int = field(
        metadata=needed(
            "its length in bars", "8", lambda on: on.whole(1, on.LAST_BAR), called="length"
        )
    )
    notes: str = noted()


@dataclass(frozen=True, kw_only=True)
class MeterChange:
    """A meter ("6/8") that holds from `bar` on."""

    bar: int = field(
        metadata=needed("from which bar on", "17", lambda on: on.whole(1, on.LAST_BAR))
    )
    meter: str = field(
        metadata=needed("beats and unit", "6/8", lambda on: on.through(on.parse_meter))
    )


@dataclass(frozen=True, kw_only=True)
class TempoChange:
    """A tempo that holds from `bar` and `beat` on.

    `bpm` counts beats of `unit` a minute; `unit` is a note value as a fraction of a whole note
    ("1/4", "3/8") or empty for the meter's felt beat. `beat` counts from 1 and may be a fraction
    ("5/2"). A ramp glides to `ramp_bpm` beats of `ramp_unit` (empty: of `unit`), reached at the
    place `ramp_end` ("37", "36.3"); without one `ramp_bpm` is None. With `free_s` there is no tempo
    up to the next change, which is so many seconds later (0: nobody knows).
    """

    bar: int = field(metadata=needed("from which bar on", "33", "read_bar"))
    beat: str = written("1", "from which beat of it on", "3", "read_beat")
    bpm: float = field(metadata=needed("beats a minute", "96", "read_bpm", write="short"))
    unit: str = written("", "the note value of a beat (empty: the meter's own)", "1/4", "read_unit")
    ramp_bpm: float | None = written(
        None, "the tempo a ramp glides to", "84", lambda on: on.maybe(on.read_bpm), write="short"
    )
    ramp_unit: str = written("", "its note value (empty: the same)", "1/4", "read_unit")
    ramp_end: str = written(
        "",
        "the bar or beat where the ramp has arrived",
        "37",
        lambda on: on.through(on.parse_point),
    )
    free_s: float | None = written(
        None,
        "no tempo up to the next one, and how many seconds that lasted (0: not known)",
        "12.5",
        lambda on: on.maybe(on.number(0, 100_000, "s")),
        key="free",
        write="short",
    )


@dataclass(frozen=True, kw_only=True)
class Version:
    """One recorded or performed form of a song.

    `key` is the concert key ("Db", "Bb minor"); `pickup_beats` the length of a pick-up bar in
    beats of the first meter ("1", "3/2", empty for none), which is bar 0; `bar_one_at` the place
    of bar 1 on the recorder's clock ("10:02:15.5"), for placing files with a time reference;
    `a4_hz` the reference of the recording; `melody_low` and `melody_high` the sung range.
    `files` are mixes of the whole version; takes' files stand in the takes.
    """

    name: str = field(metadata=needed("what it is called", "album", "name"))
    key: str = written("", "concert key", "Db", "key_name")
    meters: tuple[MeterChange, ...] = holds(
        "meter",
        "meter meters",
        whole=True,
        read_all="read_meter_lines",
        write_all="write_meter_lines",
    )
    tempos: tuple[TempoChange, ...] = holds(
        "tempo",
        "tempo tempos",
        whole=True,
        read_all="read_tempo_lines",
        write_all="write_tempo_lines",
    )
    pickup_beats: str = written(
        "", "length of a pick-up bar (bar 0), in beats", "1", "_pickup", key="pickup"
    )
    form: tuple[FormSection, ...] = holds(
        "section",
        "form section",
        whole=True,
        read_all="read_form_lines",
        write_all="write_form_lines",
    )
    lyrics: tuple[Lyric, ...] = holds("lyric", "lyrics lyric")
    sample_rate_hz: int | None = written(
        None,
        "sample rate in hertz",
        "48000",
        lambda on: on.maybe(on.sample_rate),
        key="rate",
    )
    a4_hz: float = written(
        440.0, "what A4 is tuned to, in hertz", "442", "a4_hertz", key="a4", write="short"
    )
    isrc: str = written(
        "", "recording code (ISO 3901)", "AA-6Q7-20-00047", lambda on: on.through(on.read_isrc)
    )
    date: str = written("", "when it was finished", "2026-05-03", "iso_date")
    artist: str = written("", "who it is by, as it is displayed", "Ada Fenrush", "text")
    language: str = written("", "the language it is sung in", "English", "text")
    genre: str = written("", "its genre", "folk", "text")
    explicit: str = written(
        "", "explicit, or clean", "clean", lambda on: on.one_of("explicit", "clean")
    )
    published: str = written("", "when it was first published", "2026-09-01", "iso_date")
    phonogram: str = written(
        "",
        "the phonogram line: year and owner of the recording",
        "2026 Slack Water Records",
        lambda on: on.through(on.read_rights),
    )
    bar_one_at: str = written(
        "", "where bar 1 stands on the recorder's clock", "10:02:15.5", "_clock"
    )
    melody_low: str = written("", "lowest note sung", "A3", lambda on: on.checked(on.name_to_midi))
    melody_high: str = written(
        "", "highest note sung", "D5", lambda on: on.checked(on.name_to_midi)
    )
    notes: str = noted()
    roles: tuple[Role, ...] = holds("role", "people role person")
    files: tuple[AudioFile, ...] = holds("file", "files file", implied="implied_folder")
    parts: tuple[Part, ...] = holds("part", "part parts")
    deliverables: tuple[Deliverable, ...] = holds("deliverable", "deliverables deliverable")
    arrangements: tuple[Arrangement, ...] = holds("arrangement", "arrangement arrangements")


@dataclass(frozen=True, kw_only=True)
class Song:
    """The composition: title (unique), writers and their shares, ISWC (stored plain)."""

    title: str = field(metadata=needed("its title", "Low Water", "name"))
    iswc: str = written(
        "", "work code (ISO 15707)", "T-034.524.680-1", lambda on: on.through(on.read_iswc)
    )
    notes: str = noted()
    shares: tuple[Share, ...] = holds("share", "shares share")
    roles: tuple[Role, ...] = holds("role", "people role person")
    versions: tuple[Version, ...] = holds("version", "version versions")
