"""Which song a file's path and chunks name, and what that is worth.

What each is worth is counted as in `weighing`. A title that is only written by its first letters
counts where no other is written so, and where the letters are no word for a microphone.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from logbook.audio.facts import AudioInfo
from logbook.importing.path_words import (
    Run,
    Word,
    cells_of,
    initials_of,
    name_words,
    runs_of,
    text_words,
)
from logbook.importing.trade_words import SHORT_FORMS, is_line_word
from logbook.importing.weighing_known import KnownLog
from logbook.store.file_rows import PartLine

CHUNKS = 100
"""The number of the first step that is no step of the path, but a text of the file's chunks."""


class FileWords(NamedTuple):
    """What the chunks of a file say in words: each text as a step, and what it is called."""

    steps: tuple[tuple[Word, ...], ...]
    named: tuple[str, ...]


def said_of(info: AudioInfo) -> FileWords:
    """The texts of a file's broadcast and iXML chunks."""
    texts: list[tuple[str, str]] = []
    if info.broadcast and info.broadcast.description:
        texts.append((info.broadcast.description, "broadcast chunk"))
    if info.ixml:
        ixml = info.ixml
        tracks = ixml.tracks if info.channels == len(ixml.tracks) == 1 else ()
        texts += [
            (text, "iXML chunk") for text in (ixml.project, ixml.scene, ixml.note, *tracks) if text
        ]
    return FileWords(
        text_words((text for text, _ in texts), CHUNKS), tuple(name for _, name in texts)
    )


def songs_named(
    steps: Sequence[Sequence[Word]], info: AudioInfo, said: FileWords, known: KnownLog
) -> dict[int, tuple[float, str, set[tuple[int, int]]]]:
    """What each song that is named is worth, by what, and the words that name it."""
    found: dict[int, tuple[float, str, set[tuple[int, int]]]] = {}
    titles = {bare_title(title) for title in info.tags.get("title", ())}
    for song_id, title in known.outline.songs.items():
        words = name_words(title)
        if not words:
            continue
        worth, by, used = _song_in_path(title, words, steps, known)
        plain = " ".join(words)
        if plain in titles:
            worth, by = worth + 2.0, by or "tags"
        for run in _title_runs(title, words, said.steps, known):
            worth, by = worth + 2.0 * run.share, by or said.named[run.step - CHUNKS]
            used = used | cells_of(run)
            break
        if worth:
            found[song_id] = (worth, by, used)
    # Without titles whose words are part of a longer one: `Kiln` in `Kiln Road`.
    return {
        song_id: each
        for song_id, each in found.items()
        if not each[2] or not any(each[2] < other[2] for other in found.values())
    }


def _song_in_path(
    title: str, words: Sequence[str], steps: Sequence[Sequence[Word]], known: KnownLog
) -> tuple[float, str, set[tuple[int, int]]]:
    runs = _title_runs(title, words, steps, known)
    if runs:
        best = max(runs, key=lambda run: (run.share, -run.step))
        length = sum(map(len, words))
        where = "name" if best.step == 0 else "folder"
        worth = min(3.0, 1.5 + 0.15 * length) * best.share
        if best.step == 0 and len(words) == 1 and is_line_word(words[0]):
            worth /= 2  # a song called Bridge, or the microphone there
        return worth, f"song in its {where}", cells_of(best)
    initials = initials_of(title)
    pair = "".join(word[0] for word in words) if len(words) == 2 else ""
    for number, step in enumerate(steps):
        plain = [word.plain for word in step]
        unclear = is_line_word(initials) and initials not in known.letters_seen
        if initials and initials in plain and not unclear:
            at = plain.index(initials)
            return 1.5, "song by its initials", {(number, at)}
        if pair in known.two_letters and pair in plain:
            written = step[plain.index(pair)].written
            if written.isupper() or number == 0:
                return 1.2, "song by its initials", {(number, plain.index(pair))}
        first = words[0]
        if first in plain and first in known.first_words and not is_line_word(first):
            at = plain.index(first)
            return 1.2, "song by its first word", {(number, at)}
    return 0.0, "", set()


def _title_runs(
    title: str, words: Sequence[str], steps: Sequence[Sequence[Word]], known: KnownLog
) -> list[Run]:
    """Where a title stands, without letters that may as well be a microphone or another title."""
    by_step = {step[0].step: step for step in steps if step}
    kept = []
    for run in runs_of(title, steps):
        written = "".join(word.plain for word in by_step[run.step][run.start : run.end])
        short = written != "".join(words) and len(written) <= len(words)
        unclear = is_line_word(written) or written in SHORT_FORMS
        unclear = unclear and written not in known.letters_seen
        if not short or (not unclear and (len(words) > 2 or written in known.two_letters)):
            kept.append(run)
    return kept


def bare_title(text: str) -> str:
    """A title as its plain words."""
    return " ".join(name_words(text))


def version_worth(steps: Sequence[Sequence[Word]], part: PartLine, known: KnownLog) -> float:
    """A version that is named counts for its parts and against those of the song's others."""
    versions = known.outline.versions
    own = versions[part.version_id]
    others = [each for each in versions.values() if each.song_id == own.song_id and each != own]
    if not others:
        return 0.0
    if runs_of(own.name, steps):
        return 1.0
    return -1.0 if any(runs_of(each.name, steps) for each in others) else 0.0
