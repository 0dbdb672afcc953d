"""How many files of an album that comes home are placed rightly, on habits of several recorders.

For each seed an album of 12 songs and about 112 files is made (`tests/importing/messy.py`),
imported, and what is left proposed. Right is a file that hangs where it belongs (song, part,
session, take and microphone), or stands so in a group that one keystroke confirms; a copy that is
left loose; an idea that is left loose. Wrong is a file that hangs elsewhere, or would by that
keystroke. Target: at least 95 % right in every album, none wrong.

The worths in `logbook/importing/weighing*.py` were set on seeds below 100; these are scored.
"""

from __future__ import annotations

import sys
import tempfile
from collections import Counter
from pathlib import Path

from logbook.importing.folder import import_folder
from logbook.importing.matching import ImportOptions
from logbook.importing.proposing import SURE, propose
from logbook.store.lifecycle import open_log
from logbook.store.reading import read_log
from logbook.store.writing import put_log
from tests.importing.messy import Truth, make_album

SEEDS = range(100, 112)
TARGET = 0.95


def plain(text: str) -> str:
    """A microphone without separators and case."""
    return "".join(letter for letter in text.casefold() if letter.isalnum())


def placed(store: object, folder: Path) -> tuple[dict[str, Truth], dict[str, tuple[Truth, float]]]:
    """Where import hung each file, and where a proposal puts the others and how surely."""
    import_folder(store, folder, ImportOptions(), command="import")  # type: ignore[arg-type]
    with store.reading() as connection:  # type: ignore[attr-defined]
        log = read_log(connection)
    hung = {}
    for song in log.songs:
        for version in song.versions:
            for part in version.parts:
                for take in part.takes:
                    for file in take.files:
                        hung[file.path] = Truth(
                            song.title, part.name, take.session, take.number, file.microphone
                        )
    offered = {}
    for each in propose(store, folder, ImportOptions()).groups:  # type: ignore[arg-type]
        group = each.group
        for mic, name in group.files:
            where = Truth(group.song, group.part, group.session, group.take, mic)
            offered[name] = (where, each.sure)
    return hung, offered


def same(found: Truth, truth: Truth) -> bool:
    """Whether both are one place, however the microphone is written."""
    return (found.song, found.part, found.session, found.take, plain(found.microphone)) == (
        truth.song, truth.part, truth.session, truth.take, plain(truth.microphone),
    )  # fmt: skip


def score(seed: int, say: bool = False, songs: int = 12, files: int = 112) -> Counter[str]:
    """Count what became of an album's files."""
    counts: Counter[str] = Counter()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name) / "home"
        folder.mkdir()
        album = make_album(folder, seed, songs, files)
        with open_log(str(Path(name) / "log.db")) as store:
            with store.change("load") as change:
                put_log(change, album.log)
            hung, offered = placed(store, folder)
        for file in [*album.truth, *album.copies, *album.untold]:
            truth = album.truth.get(file)
            guess, sure = offered.get(file, (None, 0.0))
            found = hung.get(file) or (guess if sure >= SURE else None)
            if found is None:
                what = "right" if truth is None else "loose"
            else:
                what = "right" if truth is not None and same(found, truth) else "WRONG"
            counts[what] += 1
            counts["hung at once"] += file in hung
            if say and what != "right":
                how = "hung" if file in hung else f"{sure:.0%}"
                print(f"  {what} {file}\n     is {truth}\n     {how} {hung.get(file) or guess}")
    counts["files"] = len(album.truth) + len(album.copies) + len(album.untold)
    return counts


def main() -> int:
    """Print the figures of each seed; arguments are other seeds, told in full."""
    asked = [int(each) for each in sys.argv[1:]]
    missed = 0
    total: Counter[str] = Counter()
    for seed in asked or SEEDS:
        counts = score(seed, bool(asked))
        total += counts
        share = counts["right"] / counts["files"]
        missed += share < TARGET or counts["WRONG"] > 0
        print(
            f"album {seed}: {counts['files']} files, {share:.1%} right ({counts['hung at once']}"
            f" hung at once), {counts['loose']} loose, {counts['WRONG']} wrong"
        )
    print(
        f"all: {total['right'] / total['files']:.1%} of {total['files']} right, "
        f"{total['WRONG']} wrong (target {TARGET:.0%} in each, none wrong)"
    )
    return 1 if missed else 0


if __name__ == "__main__":
    sys.exit(main())
