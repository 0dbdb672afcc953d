"""`logbook listen takes`: each take's file measured, kept with it as one change, and told."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from logbook.cli.asking import progress
from logbook.cli.listen_words import parts_meant
from logbook.cli.log import changing
from logbook.cli.printing import print_json, print_table, remark, say
from logbook.errors import LogbookError

if TYPE_CHECKING:
    from logbook.editing.takes import TakeSpan
    from logbook.listening.playing import Strings
    from logbook.records import AudioFile, Measurement
    from logbook.records.part_view import PartView


@dataclass(kw_only=True)
class ListenLine:
    """One file of a take, with what was measured: now (`new`) or before."""

    place: PartView
    take: TakeSpan
    file: AudioFile
    measurement: Measurement | None
    new: bool = False


def measure(
    song: str, part: str, version: str, *, again: bool, bar_by_bar: bool, as_json: bool
) -> None:
    """Measure what was not measured yet (or everything), keep it, and print it."""
    places = parts_meant(song, part, version)
    if part and not any(place.part.takes for place in places):
        raise LogbookError(f"{places[0].title} has no take yet", "log one with `logbook take`")
    lines = _lines(places)
    if not lines:
        title = places[0].title if part else places[0].song.title
        raise LogbookError(
            f"no take of {title} has an audio file",
            "`logbook import FOLDER` attaches files to takes",
        )
    due = [line for line in lines if again or line.measurement is None]
    problems = _measure(due)
    stored = [line for line in due if line.new]
    if stored:
        _keep(stored)
    for problem in problems:
        remark(problem)
    if as_json:
        print_json([_data(line) for line in lines])
    else:
        _print(places, lines, bar_by_bar=bar_by_bar)
        old = len(lines) - len(due)
        line = f"{len(stored)} file{'' if len(stored) == 1 else 's'} measured"
        say(line + (f", {old} measured before (--again measures again)." if old else "."))
    if problems and not stored:
        raise LogbookError("nothing could be measured", "")


def _lines(places: Sequence[PartView]) -> list[ListenLine]:

    return [
        ListenLine(place=place, take=take, file=file, measurement=file.measurement)
        for place in places
        for take, record in zip(place.takes, place.recorded.takes, strict=True)
        for file in record.files
    ]


def _measure(due: Sequence[ListenLine]) -> list[str]:
    """Measure these; return a sentence about each that could not be."""
    from logbook.listening import measure_take
    from logbook.listening.beginnings import music_at
    from logbook.listening.part import RELINK, place_of_file
    from logbook.records.context import tempo_map_of
    from logbook.store.changing import now

    problems = []
    with progress(len(due), "measuring") as advance:
        for line in due:
            path = place_of_file(line.file)
            version, covers = line.place.version, line.take.bars
            try:
                if not path.is_file():
                    raise LogbookError(f"{line.file.path} is not where the log says", RELINK)
                tempo_map = tempo_map_of(version)
                begins = None
                if tempo_map is not None:
                    begins = music_at(line.place, line.file, tempo_map)
                    if begins is not None and covers is not None:
                        begins += float(tempo_map.seconds_at(covers.start))
                strings = _strings(line.place)
                found = measure_take(
                    path,
                    tempo_map=tempo_map,
                    covers=covers,
                    music_at_s=begins,
                    a4_hz=version.a4_hz,
                    open_strings=strings.open_midi if strings else (),
                    capo=strings.capo if strings else 0,
                )
                line.measurement, line.new = found.as_record(now()), True
            except LogbookError as error:
                problems.append(f"{line.place.part.name}, take {line.take.number}: {error}")
            except (ValueError, ArithmeticError, MemoryError) as error:
                # One odd file must not keep the others from being measured.
                why = " ".join(str(error).split()) or type(error).__name__
                problems.append(
                    f"{line.place.part.name}, take {line.take.number}: "
                    f"{path.name} could not be measured ({why})"
                )
            advance(1)
    return problems


def _strings(place: PartView) -> Strings | None:
    """The part's strings, where its tuning is known."""
    from logbook.listening.playing import strings_of

    try:
        return strings_of(place)
    except LogbookError:
        return None


def _keep(lines: Sequence[ListenLine]) -> None:
    """Store the measurements with their files, as one change."""
    from logbook.store.editing import edit
    from logbook.store.file_rows import read_files
    from logbook.store.finding import FoundRow

    with changing() as (_, change):
        rows = {(row.folder, row.path): row for row in read_files(change.connection)}
        for line in lines:
            row = rows.get((line.file.folder, line.file.path))
            # A file that was written over or taken out meanwhile is another one.
            if row is not None and row.digest == line.file.digest:
                found = FoundRow("audio_file", row.id, row.path)
                edit(change, found, {"measurement": line.measurement})


def _print(places: Sequence[PartView], lines: Sequence[ListenLine], *, bar_by_bar: bool) -> None:
    from logbook.sheets.measured import planned_by, reading_said, remarks, tuning_text

    for place in places:
        mine = [line for line in lines if line.place is place]
        if not mine:
            continue
        say(f"{place.title} (A4 = {place.version.a4_hz:g} Hz)")
        rows = []
        for line in mine:
            found = line.measurement
            if found is None:
                rows.append((str(line.take.number), *[""] * 7, f"{line.file.path}: not measured"))
                continue
            rows.append(
                (
                    str(line.take.number),
                    _number(found.tempo_bpm, ".1f")
                    + reading_said(found.tempo_reading, found.tempo_bpm),
                    _number(found.tempo_drift_percent, "+.1f", " %"),
                    f"{tuning_text(found)} ct" if tuning_text(found) else "",
                    _number(found.loudness_lufs, ".1f", " LUFS"),
                    _number(found.true_peak_dbtp, ".1f", " dBTP"),
                    _number(found.clipped_samples, "d"),
                    f"{found.silence_start_s or 0.0:.2f}, {found.silence_end_s or 0.0:.2f} s",
                    Path(line.file.path).name,
                )
            )
        print_table(
            ("take", "tempo", "drift", "tuning", "loudness", "peak", "clipped", "silence", "file"),
            rows,
        )
        planned = planned_by(place.version)
        for line in mine:
            if line.measurement is None:
                continue
            alone = sum(each.take is line.take for each in mine) == 1
            name = "" if alone else f", {Path(line.file.path).name}"
            front = f"take {line.take.number}{name}"
            for each in remarks(line.measurement, place.version.a4_hz, planned):
                say(f"{front}: {each}.")
        if bar_by_bar:
            _print_bars(mine)


def _print_bars(lines: Sequence[ListenLine]) -> None:
    """Each bar's tempo, a column a file."""
    from logbook.timing.tempo_runs import read_runs

    columns: list[tuple[str, dict[int, float]]] = []
    for line in lines:
        runs = read_runs(line.measurement.tempo_bars) if line.measurement else ()
        by_bar = {bar: run.bpm for run in runs for bar in range(run.first, run.last + 1)}
        if by_bar:
            columns.append((f"take {line.take.number}", by_bar))
    if not columns:
        say("No tempo bar by bar: that needs the version's tempo, and notes to hear it by.")
        return
    bars = sorted({bar for _, by_bar in columns for bar in by_bar})
    print_table(
        ("bar", *(name for name, _ in columns)),
        [
            (str(bar), *(f"{got[bar]:.1f}" if bar in got else "" for _, got in columns))
            for bar in bars
        ],
    )


def _number(value: float | None, form: str, unit: str = "") -> str:
    return "" if value is None else f"{value:{form}}{unit}"


def _data(line: ListenLine) -> dict[str, Any]:
    return {
        "song": line.place.song.title,
        "version": line.place.version.name,
        "part": line.place.part.name,
        "take": line.take.number,
        "session": line.take.session,
        "file": line.file.path,
        "measured_now": line.new,
        "measurement": None if line.measurement is None else asdict(line.measurement),
    }
