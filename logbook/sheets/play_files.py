"""The sounds of pages that play: what there is to make, making it, and what the pages then say."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Iterator, Mapping
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple
from urllib.parse import quote

from logbook.errors import LogbookError
from logbook.records.log import Log
from logbook.sheets.looks import Wanted
from logbook.sheets.play_data import Listening, Plays, listen, plays_of, wishes_of

if TYPE_CHECKING:
    from logbook.playing.making import AudioSizes, Wish
    from logbook.playing.recordings import Sound

SOUNDS = "sounds"
_MOST_AT_ONCE = 4


class Planned(NamedTuple):
    """What can be heard of the songs of a log: by title, and all that is to be made for it.

    `missing` has a sentence for each file that is not there or cannot be read.
    """

    songs: Mapping[str, Listening]
    wishes: tuple[Wish, ...]
    missing: tuple[str, ...]

    def sizes(self, folder: Path) -> AudioSizes:
        """Return how much it comes to, and what of it is in the folder already."""
        from logbook.playing.making import sizes_of

        return sizes_of(self.wishes, folder)


def plan_sounds(log: Log) -> Planned:
    """Return what can be heard of every song. Raises LogbookError without the extra `listen`."""
    songs = {song.title: listen(log, song) for song in log.songs}
    wishes: dict[str, Wish] = {}
    missing: dict[str, None] = {}
    for heard in songs.values():
        found, without = wishes_of(heard)
        wishes.update({wish.sound.key: wish for wish in found})
        missing.update(dict.fromkeys(without))
    return Planned(songs, tuple(wishes.values()), tuple(missing))


def make_sounds(
    planned: Planned, folder: Path, done: Callable[[int], None]
) -> tuple[Planned, tuple[str, ...]]:
    """Make what is not there yet; return what can be heard then, and what failed.

    `done` is told of each sound. Raises LogbookError without the libraries, or where the folder
    cannot be written to.
    """
    from logbook.playing.making import make_sound

    if planned.wishes:
        _be_there(folder)

    def make(wish: Wish) -> str:
        try:
            make_sound(wish, folder)
        except LogbookError as error:
            return f"{wish.place.title}, {wish.sound.label}: {error.problem}"
        return ""

    failed: dict[str, str] = {}
    workers = min(os.cpu_count() or 1, _MOST_AT_ONCE)
    with ThreadPoolExecutor(workers) as pool:
        for wish, problem in zip(planned.wishes, pool.map(make, planned.wishes), strict=True):
            if problem:
                failed[wish.sound.key] = problem
            done(1)
    return _without(planned, failed), tuple(failed.values())


def _be_there(folder: Path) -> None:
    if folder.is_symlink():
        raise LogbookError(f"{folder} leads out of the folder", "remove the link")
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise LogbookError(
            f"{folder} cannot be made ({error.strerror})", "choose a folder you can write to"
        ) from error


def _without(planned: Planned, failed: Mapping[str, str]) -> Planned:
    if not failed:
        return planned
    songs = {
        title: {
            name: (place, bars, heard._replace(sounds=tuple(_kept(heard.sounds, failed))))
            for name, (place, bars, heard) in listening.items()
        }
        for title, listening in planned.songs.items()
    }
    wishes = tuple(wish for wish in planned.wishes if wish.sound.key not in failed)
    return planned._replace(songs=songs, wishes=wishes)


def _kept(sounds: Iterable[Sound], failed: Mapping[str, str]) -> Iterator[Sound]:
    return (sound for sound in sounds if sound.key not in failed)


def page_texts(
    log: Log, planned: Planned, folder: str, wanted: Wanted | None = None
) -> dict[str, Plays]:
    """Return what the pages of each song have to know, by title; `folder` is as a page names it.

    `wanted` is what a live sheet is made of, where only one is.
    """
    from logbook.playing.making import file_of

    def address(sound: Sound) -> str:
        return quote(f"{folder}/{file_of(sound)}")

    return {
        song.title: plays_of(log, song, planned.songs[song.title], address, wanted)
        for song in log.songs
        if song.title in planned.songs
    }


def remove_unused(folder: Path, planned: Planned) -> int:
    """Remove sounds that no page plays any more; return how many. Only files of ours are meant."""
    from logbook.playing.making import file_of

    wanted = {file_of(wish.sound) for wish in planned.wishes}
    removed = 0
    if folder.is_symlink() or not folder.is_dir():
        return 0
    for file in folder.iterdir():
        if file.name not in wanted and _is_ours(file):
            file.unlink()
            removed += 1
    return removed


def _is_ours(file: Path) -> bool:
    """Whether a file has a name as sounds have it: 24 figures of a digest."""
    return (
        file.suffix == ".webm"
        and len(file.stem) == 24
        and all(each in "0123456789abcdef" for each in file.stem)
        and not file.is_symlink()
    )
