"""What a person's corrections teach: words that files have for a part and the log did not know.

Where a file is hung on a part whose name stands nowhere in its path, the words of the file's name
that nothing else explains are taken for another name of the part. They are kept with the part
only where no file of another part, and none that hangs on nothing, has them too; so a counter's
`REC` or a telephone's `memo` is learnt by nobody. Where the song's title stands in the name, files
of that song that hang on nothing are no hindrance: they wait for just this.
"""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path, PurePosixPath
from typing import TYPE_CHECKING

from logbook.importing.file_index import entry_of
from logbook.importing.path_words import Word, cells_of, path_words, runs_of
from logbook.importing.proposal_text import FileGroup
from logbook.importing.trade_words import MIC_WORDS, NOISE_WORDS, TAKE_WORDS
from logbook.store.file_rows import Outline, name_part_too, read_outline

if TYPE_CHECKING:
    from logbook.store.changing import Change

_COMMON = NOISE_WORDS | TAKE_WORDS | MIC_WORDS | {"track", "memo", "untitled", "copy", "audio"}


def learn_aliases(change: Change, root: Path, groups: Iterable[tuple[FileGroup, int]]) -> None:
    """Keep with each part what its files call it, as far as they say so alone."""
    outline = read_outline(change.connection)
    learnt: dict[int, dict[str, None]] = {}
    for group, part_id in groups:
        part = outline.parts[part_id]
        names = [part.name, *_aliases(part.aliases), *learnt.get(part_id, ())]
        for _, file in group.files:
            steps = path_words(PurePosixPath(root.name, file))
            if any(runs_of(name, steps) for name in names):
                continue
            words = _unexplained(steps, group)
            song = group.song if runs_of(group.song, steps) else ""
            if words and not _elsewhere(outline, words, part_id, song):
                learnt.setdefault(part_id, {})[words] = None
                names.append(words)
    for part_id, found in learnt.items():
        known = _aliases(outline.parts[part_id].aliases)
        name_part_too(change, part_id, ", ".join([*known, *found]))


def _aliases(text: str) -> list[str]:
    return [each.strip() for each in text.split(",") if each.strip()]


def _unexplained(steps: tuple[tuple[Word, ...], ...], group: FileGroup) -> str:
    """The one run of words of a file's name that neither song nor take nor line explains."""
    name = steps[0]
    said = [group.song, group.version, group.session, *(mic for mic, _ in group.files if mic)]
    used = {
        cell for each in said if each for run in runs_of(each, (name,)) for cell in cells_of(run)
    }
    left = [
        word
        for word in name
        if (0, word.at) not in used and not word.plain.isdecimal() and word.plain not in _COMMON
    ]
    if not left or left[-1].at - left[0].at != len(left) - 1:
        return ""
    text = " ".join(word.written for word in left)
    return text if len(text) >= 2 else ""


def _elsewhere(outline: Outline, words: str, part_id: int, song: str) -> bool:
    """Whether a file that is not this part's has these words in its name, and not the song's."""
    part_of = {take.id: take.part_id for take in outline.takes}
    for entry in map(entry_of, outline.files):
        owner = entry.part_id or part_of.get(entry.take_id or 0)
        steps = path_words(PurePosixPath(entry.place or entry.path))
        waits = not entry.hangs and song and runs_of(song, steps)
        if owner != part_id and not waits and runs_of(words, steps[:1]):
            return True
    return False
