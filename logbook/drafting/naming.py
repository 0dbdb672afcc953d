"""Songs, parts and takes by file names alone, as a folder comes home from a session.

A name is taken apart at underscores, or at dashes with blanks around them: song, part and take's
number; part and number under a folder named for the song; or part and number alone, the song then
being the folder. Words that say a file is finished ("finished", "comp", "master", "mix", "bounce",
"final") stand in the number's place or at the end. Dashes inside a piece are blanks. Takes whose
names carry no number are numbered by time: the recorder's clock, else when the file was changed.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path, PurePosixPath

FINISHED = frozenset(
    {"finished", "comp", "comped", "master", "mix", "mixdown", "bounce", "final", "edit"}
)
_NUMBER = re.compile(r"(?:take|tk|t)?[ ._#-]*0*([0-9]{1,4})", re.I)
_TAIL = re.compile(r"(?P<body>.*?\D)[ ._#-]*(?:take|tk|t)?[ ._#-]*0*(?P<number>[0-9]{1,4})", re.I)
_DATE = re.compile(r"[0-9]{4}[-_.]?[0-9]{2}[-_.]?[0-9]{2}")
_KINDS = (
    ("bass", ("bass",)),
    ("mandolin", ("mandolin", "mando")),
    ("ukulele", ("ukulele", "uke")),
    ("banjo", ("banjo",)),
    ("voice", ("voice", "vocal", "vocals", "vox", "choir", "harmony", "singer")),
    ("drums", ("drum", "drums", "kit", "percussion", "shaker", "click", "cajon")),
    ("piano", ("piano", "keys", "organ", "keyboard", "synth")),
    ("strings", ("violin", "viola", "cello", "fiddle")),
)
TUNINGS = {
    "guitar": "standard",
    "bass": "bass",
    "mandolin": "mandolin",
    "ukulele": "ukulele",
    "banjo": "banjo",
}


@dataclass(frozen=True, kw_only=True, slots=True)
class NamedFile:
    """What a file's name says: song, part, take number (None: not said), finished or not."""

    path: Path
    place: str
    song: str
    part: str
    number: int | None
    finished: bool


def name_file(root: Path, path: Path) -> NamedFile:
    """Read one file's name; `root` is the folder that is drafted."""
    place = path.relative_to(root).as_posix()
    folders = [_words(each) for each in PurePosixPath(place).parts[:-1]]
    pieces = [
        piece
        for piece in re.split(r"_+|\s+-\s+", path.stem)
        if piece.strip() and not _DATE.fullmatch(piece)
    ]
    number: int | None = None
    finished = False
    kept: list[str] = []
    for piece in pieces:
        words = _words(piece)
        if words.casefold() in FINISHED:
            finished = True
        elif (found := _NUMBER.fullmatch(piece.strip())) and (kept or len(pieces) > 1 or folders):
            number = int(found.group(1))
        else:
            kept.append(piece)
    if number is None and not finished and kept:
        tail = _TAIL.fullmatch(kept[-1].strip())
        if tail is not None:
            number = int(tail["number"])
            kept[-1] = re.sub(r"[ ._#-]+(?:take|tk|t)?$", "", tail["body"], flags=re.I)
    names = [_words(each) for each in kept if _words(each)]
    if len(names) >= 2:
        song, part = names[0], " ".join(names[1:])
    elif names:
        song, part = (folders[-1] if folders else _words(root.name)), names[0]
    else:
        part = folders[-1] if folders else "part"
        song = folders[-2] if len(folders) > 1 else _words(root.name)
    return NamedFile(
        path=path,
        place=place,
        song=_title(song),
        part=part.lower(),
        number=number,
        finished=finished,
    )


def _words(text: str) -> str:
    return " ".join(re.split(r"[-\s.]+", text.strip())).strip()


def _title(text: str) -> str:
    """A title as people write one; small words inside stay small (common practice, no source)."""
    small = {"a", "an", "and", "at", "by", "for", "in", "of", "on", "or", "the", "to"}
    if text != text.lower():
        return text
    words = text.split()
    return " ".join(
        word if n and word in small else word[:1].upper() + word[1:] for n, word in enumerate(words)
    )


def kind_of(part: str) -> str:
    """What a part is played on, by its name; a guitar unless it says otherwise."""
    words = set(re.split(r"[^a-z]+", part.casefold()))
    return next((kind for kind, names in _KINDS if words & set(names)), "guitar")


def numbered(files: Sequence[NamedFile], times: Sequence[float]) -> list[int]:
    """Each take's number: as its name says where all say one and no two the same, else by time."""
    said = [file.number for file in files]
    if all(number for number in said) and len(set(said)) == len(said):
        return [number for number in said if number is not None]
    order = sorted(range(len(files)), key=lambda n: (times[n], files[n].place))
    out = [0] * len(files)
    for number, index in enumerate(order, 1):
        out[index] = number
    return out
