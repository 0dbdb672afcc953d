"""Which take a file most likely is: every reading of its path and chunks, weighed.

Conventions. Each piece of evidence adds to a reading what it is worth (in bans: one is ten to one),
or takes from it where it contradicts; the reading that explains most wins. How sure it is follows
from how far it stands before the next one that would hang the file elsewhere, and from whether
part and take are told at all. The worths are ours, set by hand on invented sessions.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import PurePath

from logbook.audio.facts import AudioInfo
from logbook.importing.channels import by_channels, named_tracks
from logbook.importing.path_words import path_words
from logbook.importing.weighing_known import ALONE, KnownLog, Near
from logbook.importing.weighing_parts import THOUGH, parts_named
from logbook.importing.weighing_songs import said_of, songs_named, version_worth
from logbook.importing.weighing_takes import (
    dates_of,
    day_written,
    microphone_of,
    sessions_of,
    take_fits,
    take_numbers,
)

NEIGHBOURS = "its neighbours' session"
NO_SESSION = "nothing tells the session"
_WEAK = frozenset((NEIGHBOURS, NO_SESSION))
_GUESSED = 0.45
"""How sure a file is at most where only others tell its session, nothing tells which song it is,
or its name says an instrument that the part is not."""
_UNLOGGED = 0.5
"""What it is worth that a part of a song that is named may not be logged."""


@dataclass(frozen=True, kw_only=True)
class PlaceReading:
    """One way to read a file: where it hangs, what line of the take it is, how sure, and why.

    `session_id` is None where none is told; `sure` is 0 to 1; `by` the evidence in words.
    `beside` are the other parts that its channels are, by row number, with their microphones.
    """

    part_id: int
    session_id: int | None
    take: int
    microphone: str
    worth: float
    sure: float
    by: tuple[str, ...]
    beside: tuple[tuple[int, str], ...] = ()


def weigh(
    info: AudioInfo, path: PurePath | str, known: KnownLog, near: Near = ALONE, most: int = 3
) -> list[PlaceReading]:
    """The likeliest readings of a file, best first; none where nothing tells a part."""
    steps = path_words(path)
    text = str(path)
    said = said_of(info)
    songs = songs_named(steps, info, said, known)
    dates, written = dates_of(text, info), day_written(info)
    found: list[tuple[float, PlaceReading]] = []
    for song_id, parts in known.parts_of_song.items():
        song_worth, song_by, song_used = songs.get(song_id, (0.0, "", set()))
        elsewhere = max((w for each, (w, _, _) in songs.items() if each != song_id), default=0.0)
        if elsewhere > song_worth:
            song_worth -= elsewhere
        named = parts_named(steps, said, parts, song_used)
        named, channels = by_channels(named_tracks(info), named, parts)
        for weighed in named:
            mine, beside, remarks = channels.get(weighed.part.id, ("", (), ()))
            worth = weighed.worth + song_worth + version_worth(steps, weighed.part, known)
            by = [*weighed.by, *([song_by] if song_by else []), *remarks]
            if not songs and known.here_song == song_id:
                worth, by = worth + 0.5, [*by, "here"]
            if not songs and song_id in near.songs:
                worth, by = worth + 0.9 * near.songs[song_id], [*by, "its neighbours' song"]
            used = weighed.used | song_used
            for number, take_worth, take_by, take_used in take_numbers(steps, used, info, text):
                microphone = mine or microphone_of(steps[0], used | take_used)
                microphone = microphone or _line_in_chunk(info)
                for session_id, session_worth, session_by in sessions_of(
                    steps,
                    dates,
                    weighed.part,
                    number,
                    known.outline,
                    known.numbers,
                    known.session_id,
                    written,
                ):
                    total = worth + take_worth + session_worth
                    logged = known.takes.get((weighed.part.id, session_id, number))
                    if logged is not None:
                        lasts = known.lasts(weighed.part.version_id, logged.bars)
                        total += take_fits(info, logged, lasts)
                    if not session_by and len(known.outline.sessions) > 1:
                        session_by = NO_SESSION
                    total += 0.9 * near.sessions.get(session_id or 0, 0.0)
                    if near.sessions and session_by == NO_SESSION:
                        session_by = NEIGHBOURS
                    words = dict.fromkeys(filter(None, [*by, take_by, session_by]))
                    reading = PlaceReading(
                        part_id=weighed.part.id,
                        session_id=session_id,
                        take=number,
                        microphone=microphone,
                        worth=total,
                        sure=0.0,
                        by=tuple(words),
                        beside=beside,
                    )
                    found.append((total, reading))
    found.sort(key=lambda each: -each[0])
    told = songs or near.songs or known.here_song
    guessed = not told and len({_song_of(known, reading) for _, reading in found}) > 1
    # A song that is named may have a part that nobody logged.
    unlogged = [worth + _UNLOGGED for worth, _, _ in songs.values()]
    return _with_certainty(found, unlogged, _GUESSED if guessed else 1.0, most)


def _line_in_chunk(info: AudioInfo) -> str:
    """The microphone that the iXML chunk of a file with one channel names as its track."""
    tracks = info.ixml.tracks if info.ixml and info.channels == 1 else ()
    return microphone_of(path_words(f"{tracks[0]}.wav")[0], set()) if len(tracks) == 1 else ""


def _song_of(known: KnownLog, reading: PlaceReading) -> int:
    return known.outline.versions[known.outline.parts[reading.part_id].version_id].song_id


def _with_certainty(
    found: Sequence[tuple[float, PlaceReading]], unlogged: Sequence[float], limit: float, most: int
) -> list[PlaceReading]:
    """The best readings, each with how sure it is beside all the others and what is not logged."""
    if not found:
        return []
    top = found[0][0]
    total = sum(10 ** (worth - top) for worth in [*(worth for worth, _ in found), *unlogged])
    out = []
    for worth, reading in found[:most]:
        share = 10 ** (worth - top) / total
        # Little evidence is no certainty, however alone it stands.
        enough = 1 / (1 + math.exp(-3.0 * (worth - 2.2)))
        sure = min(share * enough, limit)
        if any(word in _WEAK or word.startswith(THOUGH) for word in reading.by):
            sure = min(sure, _GUESSED)
        out.append(replace(reading, sure=round(sure, 3)))
    return out
