"""A folder of takes that nobody logged, made into a session file to edit.

Everything in it is a guess from names and sound, and is marked so, with how sure it is; what only
the player knows (people, places, microphones) is left out. The text reads back as it stands.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path

from logbook.audio.errors import AudioError
from logbook.audio.reading import read_audio
from logbook.audio.scanning import AUDIO_SUFFIXES, list_folder
from logbook.drafting.marking import Spot, heard, marked
from logbook.drafting.naming import NamedFile, name_file, numbered
from logbook.drafting.parts import PartMarks, part_record
from logbook.drafting.songs import HeardSong, SaidBefore, hear_song, heard_files, placed_in
from logbook.drafting.takes import Passes, hear_file, tell_apart
from logbook.errors import LogbookError
from logbook.notebook.read import read_log
from logbook.notebook.write import write_log
from logbook.records import AudioFile, Instrument, Log, Session, Song
from logbook.timing.map_text import tempo_lines

A4_CENTS = 5.0  # off 440 Hz from which the song's own A4 is told


@dataclass(frozen=True, kw_only=True)
class Draft:
    """A session file written from sound: its text, the log it says, and what it was heard from."""

    text: str
    log: Log
    songs: tuple[HeardSong, ...]
    left_out: tuple[str, ...]


def draft_folder(
    folder: Path,
    said: SaidBefore,
    progress: Callable[[str], None] = lambda what: None,
    *,
    beside: bool = True,
) -> Draft:
    """Draft a folder. Raises LogbookError where it holds no audio that can be heard.

    beside: whether the session file will lie in the folder, so that paths count from it.
    """
    if not folder.is_dir():
        raise LogbookError(f"there is no folder {folder}", "give the folder with the takes")
    found, refused = list_folder(folder)
    paths = [Path(each.path) for each in found if Path(each.path).suffix.lower() in AUDIO_SUFFIXES]
    if not paths:
        raise LogbookError(f"{folder} holds no audio", "give the folder with the takes")
    root = folder.resolve()
    files = [name_file(root, path.resolve()) for path in sorted(paths)]
    times = {file.place: _time(file.path) for file in files}
    session = _session(root, list(times.values()))
    groups: dict[str, dict[str, list[NamedFile]]] = {}
    for file in files:
        groups.setdefault(file.song, {}).setdefault(file.part, []).append(file)
    songs: list[HeardSong] = []
    left_out = [f"{each.name}: {each.why}" for each in refused if each.called_audio]
    for title, parts in groups.items():
        progress(title)
        passes: dict[str, Passes] = {}
        for name, named in parts.items():
            told = [hear_file(file) for file in _in_order(named, times)]
            left_out += [f"{file.named.place}: {file.problem}" for file in told if file.problem]
            passes[name] = tell_apart(told)
        songs.append(hear_song(title, passes, said))
    log, marks = _log(songs, session, said)
    text = marked(write_log(_rooted(log, root, beside), folder=None if not beside else ""), marks)
    # It loads as it stands: what is written is read again before anybody sees it.
    read_log(text, folder=str(root))
    return Draft(text=text, log=log, songs=tuple(songs), left_out=tuple(left_out))


def _rooted(log: Log, root: Path, beside: bool) -> Log:
    """The log with its files' folder said, where the session file will not lie beside them."""
    if beside:
        return log

    def files(held: tuple[AudioFile, ...]) -> tuple[AudioFile, ...]:
        return tuple(replace(each, folder=str(root)) for each in held)

    return replace(
        log,
        songs=tuple(
            replace(
                song,
                versions=tuple(
                    replace(
                        version,
                        parts=tuple(
                            replace(
                                part,
                                files=files(part.files),
                                takes=tuple(
                                    replace(take, files=files(take.files)) for take in part.takes
                                ),
                            )
                            for part in version.parts
                        ),
                    )
                    for version in song.versions
                ),
            )
            for song in log.songs
        ),
    )


def _in_order(named: Sequence[NamedFile], times: dict[str, float]) -> list[NamedFile]:
    """A part's files with every take's number set, in the order of the numbers."""
    takes = [file for file in named if not file.finished]
    numbers = numbered(takes, [times[file.place] for file in takes])
    out = [replace(file, number=number) for file, number in zip(takes, numbers, strict=True)]
    out.sort(key=lambda file: file.number or 0)
    return [*out, *(file for file in named if file.finished)]


def _time(path: Path) -> float:
    """When a file was recorded, as far as it says; else when it was changed. Seconds since 1970."""
    try:
        info = read_audio(path, digest=False)
    except AudioError:
        return path.stat().st_mtime
    said = info.broadcast
    if said is not None and said.date:
        try:
            day = datetime.fromisoformat(said.date.replace(":", "-").replace("/", "-"))
            return day.timestamp() + (said.time_reference_samples or 0) / info.rate_hz
        except ValueError:
            pass
    for date in info.tags.get("date", ()):
        try:
            return datetime.fromisoformat(date).timestamp()
        except ValueError:
            continue
    return path.stat().st_mtime


def _session(root: Path, times: Sequence[float]) -> Session:
    first = datetime.fromtimestamp(min(times))
    return Session(name=root.name or "session", date=f"{first:%Y-%m-%d}")


def _log(
    songs: Sequence[HeardSong], session: Session, said: SaidBefore
) -> tuple[Log, dict[Spot, str]]:
    marks: dict[Spot, str] = {}
    kinds: dict[str, Instrument] = {}
    records: list[Song] = []
    for song in songs:
        parts = []
        for part in song.parts:
            place = placed_in(song.title, part.name, part.kind, song.version, said, part.capo)
            instrument = place.log.instruments[0]
            kinds.setdefault(instrument.name, instrument)
            record, found = part_record(song, part, place, session.name)
            parts.append(record)
            marks |= _of_part(song.title, part.name, found)
        version = replace(song.version, parts=tuple(parts), a4_hz=_a4(song))
        records.append(Song(title=song.title, versions=(version,)))
        marks |= _of_version(song)
    log = Log(instruments=tuple(kinds.values()), sessions=(session,), songs=tuple(records))
    return log, marks


def _of_part(title: str, name: str, found: PartMarks) -> dict[Spot, str]:
    return {Spot(title, name, key, item): text for (key, item), text in found.items()}


def _a4(song: HeardSong) -> float:
    """The song's A4 as measured, 440 where it is near enough."""
    cents = [
        file.cents
        for part in song.parts
        for file in heard_files(part.passes)
        if file.cents is not None
    ]
    middle = sorted(cents)[len(cents) // 2] if cents else 0.0
    return 440.0 if abs(middle) < A4_CENTS else round(440.0 * 2 ** (middle / 1200), 1)


def _of_version(song: HeardSong) -> dict[Spot, str]:
    """Marks of what a version says."""
    title = song.title
    out = {Spot(title, "", "a4"): heard(note="measured on the takes")}
    if song.key_reason:
        out[Spot(title, "", "key")] = heard(note=song.key_reason)
    if song.tempo is not None:
        laid = song.tempo.laid
        note = f"19 in 20 beats within {1000 * laid.worst_s:.0f} ms"
        out[Spot(title, "", "tempo")] = heard(0.95 if laid.steady else 0.8, note)
        for number in range(len(tempo_lines(laid.tempo_map))):
            out[Spot(title, "", "tempo", str(number))] = heard()
        sure = song.tempo.beats.certainty
        out[Spot(title, "", "meter")] = heard(
            round(0.5 + 0.4 * sure, 2), "4/4 unless 3/4 fits better"
        )
        out[Spot(title, "", "pickup")] = heard(sure)
    lead = next((part.chart for part in song.parts if part.chart and part.chart.sections), None)
    if song.version.form:
        sections = {each.start: each for each in lead.sections} if lead else {}
        sures = [
            sections[each.start].sure if each.start in sections else 0.5
            for each in song.version.form
        ]
        out[Spot(title, "", "form")] = heard(min(sures), "by what repeats; name the sections")
        for number, sure in enumerate(sures):
            out[Spot(title, "", "form", str(number))] = heard(sure, "by what repeats")
    return out
