"""A recording that has just ended becomes the next take of the current part.

Its length says how many bars it holds, from bar 1 or from where the chosen section begins. With
the extra `listen` its level is measured too. A sound that the log has already hangs once.
"""

from __future__ import annotations

import datetime
from contextlib import suppress
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from logbook.audio.errors import AudioError
from logbook.audio.facts import AudioInfo
from logbook.audio.reading import read_audio
from logbook.errors import LogbookError
from logbook.importing.file_facts import record_of
from logbook.records import Measurement, Take, Version
from logbook.room.view import bars_of_length
from logbook.store.file_rows import read_files, read_time
from logbook.store.finding import LogPlace, find_owner
from logbook.store.writing import next_take, put

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from logbook.store.store import Store


def known_places(connection: Connection) -> set[Path]:
    """Where the files of the log lie."""
    return {Path(line.folder) / line.path for line in read_files(connection) if line.folder}


def log_recording(
    store: Store,
    path: Path,
    place: LogPlace,
    *,
    root: Path,
    first_bars: str = "",
    who: str | None = None,
) -> str:
    """Log a file as the next take of the part at `place`, and say so in a sentence.

    `root` is the recorder's folder, `first_bars` the bars of the section that is played, empty
    for the whole song. Raises LogbookError for a file that cannot be read or is logged already.
    """
    try:
        info = read_audio(path)
    except AudioError as error:
        raise LogbookError(f"{path.name} cannot be read: {error}", "it was not logged") from error
    levels, measured = _levels(path)
    record = record_of(info, folder=root.as_posix(), path=path.relative_to(root).as_posix())
    record = replace(record, measurement=measured)
    with store.change(f"room: {path.name}", who=who) as change:
        for line in read_files(change.connection):
            if line.digest and line.digest == record.digest:
                raise LogbookError(
                    f"{path.name} is the same sound as {line.path}", "it was not logged again"
                )
        number = next_take(change, place, place.session)
        version_id = find_owner(change.connection, "version", place).id
        bars = _bars(read_time(change.connection, version_id), info, first_bars)
        take = Take(number=number, session=place.session, bars=bars, files=(record,))
        put(change, take, place)
    return ", ".join(filter(None, (f"take {number}: {path.name}", *_facts(info, bars), levels)))


def _bars(version: Version, info: AudioInfo, first_bars: str) -> str:
    """The bars a recording holds, but no more than the section that was chosen."""
    first, _, last = first_bars.partition("-")
    found = bars_of_length(version, float(info.duration_s), int(first or 1))
    if not first_bars or not found:
        return found
    end = min(int(found.partition("-")[2] or found), int(last or first))
    return first if end == int(first) else f"{first}-{end}"


def _facts(info: AudioInfo, bars: str) -> list[str]:
    seconds = round(float(info.duration_s))
    moment = datetime.datetime.fromtimestamp(info.modified_ns / 1e9).strftime("%H:%M")
    words = [f"{seconds // 60}:{seconds % 60:02}", f"ended {moment}"]
    return words + ([f"bars {bars}"] if bars else [])


def _levels(path: Path) -> tuple[str, Measurement | None]:
    """Loudness and clipped samples in words and as a record; nothing without the extra."""
    from logbook.listening.extra import ListenExtraMissingError, ListeningError, require
    from logbook.store.changing import now

    with suppress(ListenExtraMissingError, ListeningError):
        require()
        from logbook.listening.loudness import measure_levels

        levels = measure_levels(path)
        said = []
        if levels.true_peak_dbtp is not None:
            said.append(f"peak {levels.true_peak_dbtp:.1f} dBTP")
        if levels.clipped_samples:
            said.append(f"{levels.clipped_samples} samples clipped")
        return ", ".join(said), Measurement(
            loudness_lufs=levels.loudness_lufs,
            true_peak_dbtp=levels.true_peak_dbtp,
            clipped_samples=levels.clipped_samples,
            silence_start_s=levels.silence_before_s,
            silence_end_s=levels.silence_after_s,
            measured_at=now(),
        )
    return "", None
