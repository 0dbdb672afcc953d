"""A whole album's files as they come home from several recorders, and where each of them belongs.

Twelve songs, about 112 files, drawn by a seed: songs, parts, sessions and takes are invented; the
habits are those of people and machines (common practice, no source): folders by song, by session,
by take, by instrument; short forms; initials; capitals inside words; numbers of the running
order in front; clocks in the name; stereo pairs and five microphones a take; copies in a backup
folder or beside the original; recorders that only count and say the rest in a chunk; dates of the
day in the name or in the broadcast chunk; ideas on the telephone that belong nowhere.

No program's own names are imitated. What a person could not tell either has no place here.
"""

from __future__ import annotations

import random
import shutil
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from logbook import records as r
from logbook.records import Log
from tests.sounds import wav

FIRST = (
    "Saltpan", "Kiln", "Rowan", "Varnish", "Tide", "Copper", "Lantern", "Harbour", "Winter",
    "Thistle", "Gravel", "Amber", "Paper", "Hollow", "Ferry", "Slate", "Barley", "Orchard",
)  # fmt: skip
SECOND = (
    "Road", "Lane", "Gate", "Ledger", "Bells", "Letters", "Station", "Window", "Hill", "Season",
    "Fires", "Garden", "Anthem", "Shore", "Morning", "Waltz",
)  # fmt: skip
PARTS = (
    "bass", "acoustic guitar", "electric guitar", "lead vocal", "backing vocal", "violin 1",
    "violin 2", "viola", "cello", "piano", "organ", "mandolin", "banjo", "trumpet", "shaker",
)  # fmt: skip
KITS = (
    ("KickIn", "KickOut", "SnTop", "OHL", "OHR"),
    ("kick", "snare", "OH L", "OH R", "room"),
    ("Kick In", "Snare Top", "Snare Btm", "Overhead L", "Overhead R"),
    ("BD", "SD", "HH", "OH-L", "OH-R"),
    ("kick", "sn top", "sn btm", "ovh l", "ovh r"),
)
SHORT = {
    "bass": ("Bs", "bass", "BASS"),
    "acoustic guitar": ("AcGtr", "ac gtr", "Acoustic Gtr", "AGtr"),
    "electric guitar": ("EGtr", "el gtr", "Elec Gtr"),
    "lead vocal": ("LdVox", "Lead Vox", "lead voc", "LV"),
    "backing vocal": ("BV", "BGV", "backing vox"),
    "violin 1": ("Vln 1", "Vln1", "vn1"),
    "violin 2": ("Vln 2", "Vln2", "vn2"),
    "viola": ("Vla", "viola"),
    "cello": ("Vc", "Clo", "cello"),
    "piano": ("Pno", "piano"),
    "organ": ("Org", "organ"),
    "mandolin": ("Mando", "mand"),
    "banjo": ("bjo", "Banjo"),
    "trumpet": ("Tpt", "Tp"),
    "shaker": ("shk", "Shaker"),
    "drums": ("Drums", "Dr", "drums"),
}
SESSIONS = ("Harbour loft", "Mill Street", "Chapel overdubs")


@dataclass(frozen=True)
class Truth:
    """Where a file belongs; microphone as written in its name, "" for none."""

    song: str
    part: str
    session: str
    take: int
    microphone: str = ""


@dataclass
class Album:
    """The log before the files came, where each file belongs, copies, and what nobody can tell."""

    log: Log
    truth: dict[str, Truth] = field(default_factory=dict)
    copies: set[str] = field(default_factory=set)
    untold: set[str] = field(default_factory=set)


@dataclass(frozen=True)
class _Take:
    song: str
    at: int
    part: str
    session: r.Session
    number: int


def make_album(folder: Path, seed: int, songs: int = 12, files: int = 112) -> Album:
    """Write an album's files below a folder, and say where each belongs."""
    chance = random.Random(f"album {seed}")
    days = [2, 3, chance.randint(9, 20)]
    sessions = [
        r.Session(name=name, date=f"2026-05-{day:02d}")
        for name, day in zip(SESSIONS, days, strict=True)
    ]
    titles = _titles(chance, songs)
    takes: list[_Take] = []
    logged: list[r.Song] = []
    for at, title in enumerate(titles, 1):
        names = ["drums", *chance.sample(PARTS, chance.randint(3, 6))]
        parts = []
        for name in names:
            session = chance.choice(sessions[:2] if name in ("drums", "bass") else sessions)
            numbers = range(1, chance.randint(3, 7))
            known = tuple(
                r.Take(number=n, session=session.name) for n in numbers if chance.random() < 0.85
            )
            parts.append(r.Part(name=name, takes=known))
            takes += [_Take(title, at, name, session, n) for n in numbers]
        logged.append(r.Song(title=title, versions=(r.Version(name="album", parts=tuple(parts)),)))
    album = Album(Log(sessions=tuple(sessions), songs=tuple(logged)))
    writer = _Writer(folder, chance, album, {song: _initials(song) for song in titles})
    habits = {title: chance.choice(HABITS) for title in titles}
    by_part: dict[tuple[str, str], list[_Take]] = {}
    for take in takes:
        by_part.setdefault((take.song, take.part), []).append(take)
    wanted = list(by_part.values())
    chance.shuffle(wanted)
    while wanted and len(album.truth) + len(album.copies) + len(album.untold) < files - 8:
        of_part = wanted.pop()
        habit = habits[of_part[0].song] if chance.random() < 0.85 else chance.choice(HABITS)
        for take in sorted(chance.sample(of_part, min(len(of_part), chance.randint(1, 2))),
                           key=lambda each: each.number):  # fmt: skip
            writer.take(take, habit)
    writer.copy(4)
    writer.ideas(4)
    return album


def _titles(chance: random.Random, count: int) -> list[str]:
    firsts = chance.sample(FIRST, count)
    titles = []
    for first in firsts:
        kind = chance.random()
        second = chance.choice(SECOND)
        if kind < 0.2:
            titles.append(first)
        elif kind < 0.75:
            titles.append(f"{first} {second}")
        elif kind < 0.9:
            titles.append(f"The {first} {second}")
        else:
            titles.append(f"{first} and {second}")
    return titles


def _initials(title: str) -> str:
    return "".join(word[0] for word in title.split()).upper()


class _Writer:
    def __init__(
        self, folder: Path, chance: random.Random, album: Album, initials: dict[str, str]
    ) -> None:
        self.folder = folder
        self.chance = chance
        self.album = album
        counts = list(initials.values())
        self.initials = {
            song: short for song, short in initials.items()
            if len(short) >= 2 and counts.count(short) == 1
        }  # fmt: skip
        self.counter = chance.randint(3, 40)

    def take(self, take: _Take, habit: Habit) -> None:
        """Write the files of a take: one, a stereo pair, or the five microphones of a kit."""
        if take.part == "drums":
            mics: Sequence[str] = self.chance.choice(KITS)
        elif take.part in ("acoustic guitar", "piano") and self.chance.random() < 0.5:
            mics = self.chance.choice((("L", "R"), ("left", "right"), ("body", "neck")))
        else:
            mics = ("",)
        short = self.chance.choice(SHORT[take.part])
        for mic in mics:
            self.counter += 1
            name, chunks = habit(self, take, short, mic)
            path = self.folder / f"{name}.wav"
            assert not path.exists(), name
            dated = {"date": take.session.date} if self.chance.random() < 0.5 else {}
            self._write(path, {**dated, **chunks})
            self.album.truth[f"{name}.wav"] = Truth(
                take.song, take.part, take.session.name, take.number, mic
            )

    def _write(self, path: Path, chunks: dict[str, str]) -> None:
        seed = f"{path.relative_to(self.folder)}"
        wav(path, seconds=0.02 + len(self.album.truth) / 8000, seed=seed, **chunks)  # type: ignore[arg-type]

    def copy(self, count: int) -> None:
        """Copies in a backup folder (before or behind in the alphabet) or beside the original."""
        for name in self.chance.sample(sorted(self.album.truth), count):
            path = Path(name)
            kind = self.chance.randrange(4)
            copy = (
                Path("A backup", path), Path("zz safety", path.name),
                path.with_name(f"{path.stem} copy.wav"), path.with_name(f"{path.stem} (1).wav"),
            )[kind]  # fmt: skip
            (self.folder / copy).parent.mkdir(parents=True, exist_ok=True)
            shutil.copy2(self.folder / name, self.folder / copy)
            self.album.copies.add(copy.as_posix())

    def ideas(self, count: int) -> None:
        """Files that belong nowhere."""
        for n in range(count):
            name = ("telephone/memo {}", "REC_{:04d}", "ideas/humming {}", "untitled {}")[n % 4]
            name = name.format(self.chance.randint(1, 99))
            self._write(self.folder / f"{name}.wav", {})
            self.album.untold.add(f"{name}.wav")

    def day(self, take: _Take, mark: str = "-") -> str:
        return take.session.date.replace("-", mark)


Habit = Callable[[_Writer, _Take, str, str], tuple[str, dict[str, str]]]


def _joined(*words: str, by: str) -> str:
    return by.join(word for word in words if word)


def by_song_and_part(w: _Writer, t: _Take, short: str, mic: str) -> tuple[str, dict[str, str]]:
    return f"{t.song}/{t.part}/{_joined(f'Take {t.number:02d}', mic, by='_')}", {}


def flat_full(w: _Writer, t: _Take, short: str, mic: str) -> tuple[str, dict[str, str]]:
    song, part = t.song.replace(" ", "-"), t.part.replace(" ", "-")
    return _joined(song, part, f"t{t.number:02d}", mic, by="_"), {}


def by_session(w: _Writer, t: _Take, short: str, mic: str) -> tuple[str, dict[str, str]]:
    return (
        f"{w.day(t)} {t.session.name}/{_joined(t.song, t.part, str(t.number), mic, by=' - ')}",
        {},
    )


def by_day_and_song(w: _Writer, t: _Take, short: str, mic: str) -> tuple[str, dict[str, str]]:
    return f"{w.day(t, '')}/{t.song}/{_joined(short, mic, f'{t.number:02d}', by='_')}", {}


def by_take(w: _Writer, t: _Take, short: str, mic: str) -> tuple[str, dict[str, str]]:
    return f"{t.at:02d} {t.song}/Take {t.number:02d}/{_joined(short, mic, by=' ')}", {}


def by_initials(w: _Writer, t: _Take, short: str, mic: str) -> tuple[str, dict[str, str]]:
    song = w.initials.get(t.song, t.song.split()[0 if t.song.split()[0] != "The" else 1])
    return _joined(song, short.replace(" ", ""), f"{t.number:02d}", mic, by="_"), {}


def camel(w: _Writer, t: _Take, short: str, mic: str) -> tuple[str, dict[str, str]]:
    def up(text: str) -> str:
        return "".join(word[0].upper() + word[1:] for word in text.replace("-", " ").split())

    return f"mixdown/{up(t.song)}{up(t.part)}{up(mic)}Tk{t.number}", {}


def clock(w: _Writer, t: _Take, short: str, mic: str) -> tuple[str, dict[str, str]]:
    song = t.song.lower().replace(" ", "")
    hour = f"{w.chance.randint(10, 21)}{w.chance.randint(0, 59):02d}{w.counter % 60:02d}"
    part = short.lower().replace(" ", "")
    return _joined(w.day(t, ""), hour, song, part, f"tk{t.number}", mic, by="_"), {}


def counted(w: _Writer, t: _Take, short: str, mic: str) -> tuple[str, dict[str, str]]:
    said = _joined(t.song, t.part, f"take {t.number}", by=", ")
    mic = _joined(mic, by="")
    return _joined(f"card A/T{w.counter:04d}", mic, by="_"), {
        "description": said, "date": t.session.date,
    }  # fmt: skip


def part_first(w: _Writer, t: _Take, short: str, mic: str) -> tuple[str, dict[str, str]]:
    return f"{t.session.name}/{_joined(short, mic, t.song, f'{t.number}', by=' ')}", {}


def by_instrument(w: _Writer, t: _Take, short: str, mic: str) -> tuple[str, dict[str, str]]:
    return f"{t.part}/{_joined(t.song, f'T{t.number}', mic, by='.')}", {}


def number_first(w: _Writer, t: _Take, short: str, mic: str) -> tuple[str, dict[str, str]]:
    return f"{t.song}/{_joined(f'{t.number:02d}', short, mic, by='-')} 48k 24bit", {}


def scene(w: _Writer, t: _Take, short: str, mic: str) -> tuple[str, dict[str, str]]:
    return f"{t.song}/{_joined(f'{w.counter:03d}', mic, by=' ')}", {
        "ixml_scene": t.part, "ixml_take": str(t.number), "date": t.session.date,
    }  # fmt: skip


HABITS: tuple[Habit, ...] = (
    by_song_and_part, flat_full, by_session, by_day_and_song, by_take, by_initials, camel, clock,
    counted, part_first, by_instrument, number_first, scene,
)  # fmt: skip
