"""What the log wants in a file's tags, and how each tag format writes it.

Sources: ID3v2.4.0 frames (id3.org, 2000): TIT2, TPE1, TALB, TCOM, TEXT, TMCL (musicians and
instruments), TIPL (involved people), TSRC, TBPM (whole beats a minute), TKEY (at most three
characters), TDRC (recorded), TDRL (released), TPE2, TRCK, TXXX. Vorbis comment field
recommendations (xiph.org): TITLE, ARTIST, ALBUM, PERFORMER, ISRC, DATE, TRACKNUMBER. The other
Vorbis names, the MP4 atoms and freeform names, TPE2 as the album's artist and the descriptions
ISWC and BARCODE of TXXX are common practice.

ID3v2.4 parts several names by a NUL, behind which many programs read nothing: writers and
lyricists stand in one text, with semicolons between.

A field is written when the log knows it and is left alone when it does not; every other tag in
the file stays.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from logbook.audio.mutagen_types import mutagen_type
from logbook.audio.tags import ROLE_FIELDS
from logbook.errors import LogbookError

# A freeform MP4 atom carries a name space; this one is ours. Programs look for the name behind it.
_FREEFORM = "----:org.session-logbook:"
_DATE = re.compile(r"[0-9]{4}(-[0-9]{2}(-[0-9]{2})?)?")
_KEY = re.compile(r"([A-G])[ -]?(b|#|♭|♯|flat|sharp)?[ -]*(major|maj|minor|min|m)?", re.IGNORECASE)
_UTF8 = 3


class TagError(LogbookError):
    """A value that no tag can hold."""


@dataclass(frozen=True, slots=True)
class Performer:
    """Who played or sang, and what."""

    name: str
    instrument: str = ""

    def __str__(self) -> str:
        return f"{self.name} ({self.instrument})" if self.instrument else self.name


@dataclass(frozen=True, slots=True)
class Credit:
    """Somebody's work on it that is not playing or writing: a role in words, a name."""

    role: str
    name: str

    def __str__(self) -> str:
        return f"{self.role}: {self.name}"


@dataclass(frozen=True, kw_only=True, slots=True)
class FileTags:
    """What is to stand in the file; empty or None means that the log does not know.

    `writers` made words and music, `composers` the music, `lyricists` the words. `tempo_bpm` is
    exact; `key` is written as `Db`, `F# minor` or `D flat major`; `date` is when it was recorded,
    `release_date` when the release came out, both in ISO 8601: a year, a month or a day. `track`
    of `tracks` is its place on the release. Raises `TagError` for a key, date or tempo that is
    none.
    """

    title: str = ""
    artist: str = ""
    album: str = ""
    writers: tuple[str, ...] = ()
    composers: tuple[str, ...] = ()
    lyricists: tuple[str, ...] = ()
    performers: tuple[Performer, ...] = ()
    credits: tuple[Credit, ...] = ()
    isrc: str = ""
    tempo_bpm: Fraction | None = None
    key: str = ""
    date: str = ""
    album_artist: str = ""
    track: int | None = None
    tracks: int | None = None
    iswc: str = ""
    barcode: str = ""
    release_date: str = ""

    def __post_init__(self) -> None:
        if self.key:
            key_in_tag(self.key)
        for date in filter(None, (self.date, self.release_date)):
            if not _DATE.fullmatch(date):
                raise TagError(f"the date {date[:40]!r} is no ISO 8601 date", "write 2024-05-06")
        if self.tempo_bpm is not None and not 0 < self.tempo_bpm < 1000:
            raise TagError("the tempo is not a tempo", "write beats a minute between 1 and 999")


def key_in_tag(key: str) -> str:
    """A key as ID3v2.4 writes it: the letter, b or #, and m for minor: `Db`, `F#m`, `C`.

    Raises `TagError` for text that is not a major or minor key.
    """
    found = _KEY.fullmatch(key.strip())
    if found is None:
        raise TagError(f"the key {key[:40]!r} is not a major or minor key", "write Db or F# minor")
    letter, sign, mode = (group or "" for group in found.groups())
    accidental = {"b": "b", "♭": "b", "flat": "b", "": ""}.get(sign.lower(), "#")
    # A lone capital M means major to some, so only the small letter counts as minor.
    minor = mode == "m" or mode.lower() in ("minor", "min")
    return letter.upper() + accidental + ("m" if minor else "")


def tempo_in_tag(tempo_bpm: Fraction, *, whole: bool) -> str:
    """A tempo as a tag writes it: rounded to whole beats, halves up, or in up to 3 decimals."""
    if whole:
        return str(int(tempo_bpm + Fraction(1, 2)))
    return f"{float(tempo_bpm):.3f}".rstrip("0").rstrip(".")


def clean(text: str) -> str:
    """Text that every tag format can hold: no NUL (a separator there), no half characters."""
    return text.replace("\0", " ").encode("utf-8", "replace").decode("utf-8").strip()


def _all_clean(texts: Iterable[object]) -> list[str]:
    return list(dict.fromkeys(text for text in (clean(str(text)) for text in texts) if text))


def set_id3(frames: Any, tags: FileTags) -> None:
    """Puts the fields into a mutagen ID3 tag; nothing is saved."""
    texts = {
        "TIT2": [tags.title],
        "TPE1": [tags.artist],
        "TALB": [tags.album],
        "TPE2": [tags.album_artist],
        "TRCK": [_place_on(tags)],
        "TCOM": ["; ".join(_all_clean([*tags.writers, *tags.composers]))],
        "TEXT": ["; ".join(_all_clean(tags.lyricists))],
        "TSRC": [plain_isrc(tags.isrc)],
        "TBPM": [tempo_in_tag(tags.tempo_bpm, whole=True)] if tags.tempo_bpm else [],
        "TKEY": [key_in_tag(tags.key)] if tags.key else [],
        "TDRC": [tags.date],
        "TDRL": [tags.release_date],
    }
    described = {"ISWC": tags.iswc, "BARCODE": tags.barcode}
    for description, value in described.items():
        if clean(value):
            text = mutagen_type("TXXX")(encoding=_UTF8, desc=description, text=[clean(value)])
            frames.setall(f"TXXX:{description}", [text])
    for frame, values in texts.items():
        cleaned = _all_clean(values)
        if cleaned:
            frames.setall(frame, [mutagen_type(frame)(encoding=_UTF8, text=cleaned)])
    people = {
        "TMCL": [(performer.instrument, performer.name) for performer in tags.performers],
        "TIPL": [
            *(("writer", name) for name in tags.writers),
            *((credit.role, credit.name) for credit in tags.credits),
        ],
    }
    for frame, pairs in people.items():
        named = [[clean(role), clean(name)] for role, name in dict.fromkeys(pairs) if clean(name)]
        if named:
            frames.setall(frame, [mutagen_type(frame)(encoding=_UTF8, people=named)])


def _place_on(tags: FileTags) -> str:
    """The place on the release: "3/12"."""
    if not tags.track:
        return ""
    return f"{tags.track}/{tags.tracks}" if tags.tracks else str(tags.track)


def set_vorbis(comments: Any, tags: FileTags) -> None:
    """Puts the fields into mutagen Vorbis comments; nothing is saved."""
    for name, values in _named_values(tags).items():
        comments[name.upper()] = values
    simple = {"title": tags.title, "artist": tags.artist, "album": tags.album, "date": tags.date}
    for name, value in simple.items():
        if clean(value):
            comments[name.upper()] = [clean(value)]
    composers = _all_clean([*tags.writers, *tags.composers])
    if composers:
        comments["COMPOSER"] = composers
    if clean(tags.album_artist):
        comments["ALBUMARTIST"] = [clean(tags.album_artist)]
    if tags.track:
        comments["TRACKNUMBER"] = [str(tags.track)]
        if tags.tracks:
            comments["TRACKTOTAL"] = [str(tags.tracks)]
    if tags.tempo_bpm:
        comments["BPM"] = [tempo_in_tag(tags.tempo_bpm, whole=False)]


def set_mp4(atoms: Any, tags: FileTags) -> None:
    """Puts the fields into mutagen MP4 tags; nothing is saved.

    Several names go into one atom, because most programs read only the first of several.
    """
    simple = {
        "\xa9nam": [tags.title],
        "\xa9ART": [tags.artist],
        "\xa9alb": [tags.album],
        "\xa9day": [tags.date],
        "\xa9wrt": [*tags.writers, *tags.composers],
        "aART": [tags.album_artist],
    }
    if tags.track:
        atoms["trkn"] = [(tags.track, tags.tracks or 0)]
    for atom, texts in simple.items():
        if _all_clean(texts):
            atoms[atom] = ["; ".join(_all_clean(texts))]
    if tags.tempo_bpm:
        atoms["tmpo"] = [int(tempo_in_tag(tags.tempo_bpm, whole=True))]
    for name, values in _named_values(tags).items():
        joined = "; ".join(values).encode("utf-8")
        for atom in _freeform_atoms(atoms, name):
            atoms[atom] = [mutagen_type("MP4FreeForm")(joined)]


def _freeform_atoms(atoms: Any, name: str) -> list[str]:
    """The freeform atoms of this name that are there in any name space, else our own."""
    there = [
        atom
        for atom in atoms
        if atom.startswith("----:") and atom.rpartition(":")[2].lower() == name
    ]
    return there or [_FREEFORM + name.upper()]


def set_text(text: dict[str, tuple[str, ...]], tags: FileTags, *, aiff: bool) -> None:
    """Puts what RIFF INFO or AIFF text chunks can say into them; the rest is for ID3."""
    if aiff:
        fields = {"NAME": [tags.title], "AUTH": [tags.artist]}
    else:
        fields = {
            "INAM": [tags.title],
            "IART": [tags.artist],
            "IPRD": [tags.album],
            "ICRD": [tags.date],
            "ITRK": [str(tags.track) if tags.track else ""],
            "IMUS": [*tags.writers, *tags.composers],
            "IENG": [c.name for c in tags.credits if c.role.strip().lower() == "engineer"],
        }
    for name, values in fields.items():
        if _all_clean(values):
            text[name] = ("; ".join(_all_clean(values)),)


def _named_values(tags: FileTags) -> dict[str, list[str]]:
    """The fields that Vorbis comments and freeform MP4 atoms write under the same names."""
    fields: dict[str, list[object]] = {
        "writer": list(tags.writers),
        "lyricist": list(tags.lyricists),
        "performer": list(tags.performers),
        "isrc": [plain_isrc(tags.isrc)],
        "iswc": [tags.iswc],
        "barcode": [tags.barcode],
        "releasedate": [tags.release_date],
        "initialkey": [key_in_tag(tags.key)] if tags.key else [],
    }
    for credit in tags.credits:
        role = credit.role.strip().lower()
        if role in ROLE_FIELDS:
            fields.setdefault(role, []).append(credit.name)
        else:
            fields.setdefault("credit", []).append(credit)
    return {name: cleaned for name, values in fields.items() if (cleaned := _all_clean(values))}


def plain_isrc(isrc: str) -> str:
    """An ISRC without its separators."""
    return re.sub(r"[\s-]", "", isrc).upper()
