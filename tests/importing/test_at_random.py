"""Files moved, swapped, copied, changed and deleted at random between imports.

Whatever is done to a folder, after an import every file in it is one file of the log at its
place, a second import finds nothing new, and a sound that was only moved about still hangs on
the take it hung on.
"""

from __future__ import annotations

import random
import shutil
from pathlib import Path

import pytest

from logbook import records as r
from logbook.audio.reading import read_audio
from logbook.importing.folder import import_folder
from logbook.importing.matching import ImportOptions
from logbook.records import Log
from logbook.store.file_rows import FileLine, read_files
from logbook.store.store import Store
from logbook.store.writing import put_log
from tests.sounds import wav

ROUNDS = 12


def rows(store: Store) -> list[FileLine]:
    with store.reading() as connection:
        return read_files(connection)


def sounds(folder: Path) -> dict[str, str]:
    """The digest of every file by its path inside the folder."""
    return {
        path.relative_to(folder).as_posix(): read_audio(path).digest or ""
        for path in folder.rglob("*.wav")
    }


class Vandal:
    """Does things to a folder."""

    def __init__(self, folder: Path, chance: random.Random) -> None:
        self.folder = folder
        self.chance = chance
        self.count = 0

    def files(self) -> list[Path]:
        return sorted(self.folder.rglob("*.wav"))

    def free(self) -> Path:
        self.count += 1
        place = self.chance.choice(["", "a", "a/b"])
        path = self.folder / place / f"gtr_{self.count}.wav"
        path.parent.mkdir(parents=True, exist_ok=True)
        return path

    def record(self, path: Path) -> None:
        self.count += 1
        wav(path, seconds=0.004 + self.count / 8000, seed=self.count)

    def act(self) -> None:
        there = self.files()
        act = self.chance.choice(["new", "new", "move", "move", "swap", "over", "change", "delete"])
        act = self.chance.choice([act, "copy"]) if self.chance.random() < 0.2 else act
        if act == "new" or len(there) < 3:
            self.record(self.free())
            return
        one, two = self.chance.sample(there, 2)
        if act == "move":
            one.rename(self.free())
        elif act == "swap":
            aside = self.folder / "aside"
            one.rename(aside)
            two.rename(one)
            aside.rename(two)
        elif act == "over":
            one.replace(two)
        elif act == "change":
            self.record(one)
        elif act == "delete":
            one.unlink()
        else:
            shutil.copy(one, self.free())


@pytest.mark.parametrize("seed", range(4))
def test_every_file_is_found_again(file_store: Store, tmp_path: Path, seed: int) -> None:
    folder = tmp_path / "in"
    folder.mkdir()
    version = r.Version(name="album", parts=(r.Part(name="gtr"),))
    with file_store.change("load") as change:
        put_log(change, Log(songs=(r.Song(title="Salt Road", versions=(version,)),)))
    vandal = Vandal(folder, random.Random(seed))
    hung: dict[str, int] = {}
    for _ in range(ROUNDS):
        for _ in range(vandal.chance.randint(1, 4)):
            vandal.act()
        import_folder(file_store, folder, ImportOptions(), command="import")
        now = sounds(folder)
        lines = {line.path: line for line in rows(file_store)}
        assert {name: lines[name].digest for name in now} == now
        again = import_folder(file_store, folder, ImportOptions(), command="import")
        assert again.outcomes == []
        _moved_keep_their_takes(now, hung, lines)
        hung = {d: lines[n].take_id or 0 for n, d in now.items() if _only(d, now)}
    assert len(lines) > 10


def _only(digest: str, sounds: dict[str, str]) -> bool:
    return list(sounds.values()).count(digest) == 1


def _moved_keep_their_takes(
    now: dict[str, str], hung: dict[str, int], lines: dict[str, FileLine]
) -> None:
    # Where the log has a sound twice, nobody can say which of the two has moved.
    known = [line.digest for line in lines.values()]
    for name, digest in now.items():
        if digest in hung and known.count(digest) == 1:
            assert lines[name].take_id == (hung[digest] or lines[name].take_id)
