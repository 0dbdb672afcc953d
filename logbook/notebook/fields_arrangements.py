"""Arrangements, set lists and projects, as both doors say them.

Lines: an arranged section is `chorus`, `chorus x2`, `verse 4 bars`, `outro from chorus 4 bars` or
`bridge vamp`; a set list's entry is `Low Water / album / pub`, with `opener:` or `closer:` in front
and ` +` behind where the next song stays with it; a project's track is `Low Water / album`.
"""

from __future__ import annotations

import re
from typing import Any

from logbook.crediting.identifiers import read_ean
from logbook.errors import LogbookError
from logbook.notebook import values
from logbook.notebook.declare import Collection, Context, Field, Line, Noun, Record, Value, pick
from logbook.notebook.fields_parts import part_name
from logbook.notebook.fields_people import NOTES
from logbook.notebook.fields_places import tuning_name
from logbook.notebook.fields_songs import LAST_BAR, key_name, read_bpm, read_unit
from logbook.records import (
    ArrangedPart,
    ArrangedSection,
    Arrangement,
    Project,
    SetList,
    SetListEntry,
    Song,
    Track,
    Version,
)
from logbook.strings.capo import read_capos, write_capos

_SECTION = re.compile(
    r"(?P<name>.+?)(?:\s+from\s+(?P<source>.+?))?(?:\s+(?P<bars>\d+)\s*bars?)?"
    r"(?:\s+x\s*(?P<times>\d+))?(?P<vamp>\s+vamp)?",
    re.S | re.I,
)


def _section_names(context: Context) -> list[str]:
    version = context.owner(Version)
    return list(dict.fromkeys(each.name for each in version.form)) if version else []


_section_name = values.among(_section_names, "section")
_times = values.whole(1, 1000)
_bars = values.whole(1, LAST_BAR)


def _read_section(line: str, context: Context) -> dict[str, Any]:
    found = _SECTION.fullmatch(line.strip())
    if found is None:
        raise LogbookError("the section is empty", 'write it as in "chorus x2"')
    name = found["name"]
    if found["source"]:
        source = _section_name(found["source"], context)
    else:
        source = name if name in _section_names(context) else ""
        if not source and not found["bars"]:
            source = name = _section_name(name, context)
    return {
        "name": name,
        "source": source,
        "bars": _bars(found["bars"], context) if found["bars"] else None,
        "times": _times(found["times"], context) if found["times"] else 1,
        "vamp": bool(found["vamp"]),
    }


def _write_section(section: ArrangedSection, context: Context) -> str | None:
    if section.bpm is not None or section.unit or section.ramp or section.cue or section.notes:
        return None
    pieces = [section.name]
    if section.source not in ("", section.name):
        pieces.append(f"from {section.source}")
    if section.bars is not None:
        pieces.append(f"{section.bars} bars")
    if section.times != 1:
        pieces.append(f"x{section.times}")
    return " ".join([*pieces, "vamp"] if section.vamp else pieces)


def _song(value: Value, context: Context) -> str:
    return str(values.known("song")(value, context))


def _versions(song: Song | None) -> list[str]:
    return [each.name for each in song.versions] if song else []


def _version_of(title: str, name: str, context: Context) -> str:
    """Return the version that is meant; the only one where none is named."""
    song = context.known.find("song", title)
    names = _versions(song)
    if name:
        return pick(name, names, f"version of {title}")
    if len(names) == 1:
        return names[0]
    if not names:
        raise LogbookError(f"{values.shown(title)} has no version yet", "add one first")
    raise LogbookError(
        f"{values.shown(title)} has {len(names)} versions", f"say which: {', '.join(names[:6])}"
    )


def _version(value: Value, context: Context) -> str:
    entry = context.owners[-1]
    return _version_of(entry.song, values.text(value, context), context)


def _arrangement(value: Value, context: Context) -> str:
    entry = context.owners[-1]
    return _arrangement_of(entry.song, entry.version, values.text(value, context), context)


def _arrangement_of(title: str, version: str, name: str, context: Context) -> str:
    if not name:
        return ""
    song = context.known.find("song", title)
    found = next((each for each in song.versions if each.name == version), None) if song else None
    names = [each.name for each in found.arrangements] if found else []
    return pick(name, names, f"arrangement of {title}")


def _read_track(line: str, context: Context) -> dict[str, Any]:
    title, *rest = line.split(" / ")
    song = _song(title.strip(), context)
    return {"song": song, "version": _version_of(song, " / ".join(rest).strip(), context)}


def _write_track(track: Track, context: Context) -> str | None:
    return f"{track.song} / {track.version}"


def _read_entry(line: str, context: Context) -> dict[str, Any]:
    body = line.strip()
    place = ""
    for word in ("opener", "closer"):
        if body.casefold().startswith(f"{word}:"):
            place, body = word, body[len(word) + 1 :].strip()
    with_next = body.endswith(" +")
    title, version, arrangement = (
        [*(each.strip() for each in body.removesuffix(" +").split(" / ", 2)), "", ""]
    )[:3]
    song = _song(title, context)
    version = _version_of(song, version, context)
    return {
        "song": song,
        "version": version,
        "arrangement": _arrangement_of(song, version, arrangement, context),
        "place": place,
        "with_next": with_next,
    }


def _write_entry(entry: SetListEntry, context: Context) -> str | None:
    if entry.notes:
        return None
    names = [entry.song, entry.version] + ([entry.arrangement] if entry.arrangement else [])
    place = f"{entry.place}: " if entry.place else ""
    return place + " / ".join(names) + (" +" if entry.with_next else "")


def _arranged_capo(value: Value, context: Context) -> str | None:
    if value is None:
        return None
    capos = read_capos(values.text(value, context))
    return write_capos(capos) if capos else ""


_WRITTEN = {"Bb": "Bb", "Eb": "Eb", "F": "F", "octave": "octave", "concert": "", "C": "", "": ""}


def _written_for(value: Value, context: Context) -> str:
    body = values.text(value, context).strip().replace("-flat", "b").replace(" flat", "b")
    by_plain: dict[str, Record] = {key.casefold(): each for key, each in _WRITTEN.items()}
    if body.casefold() in by_plain:
        return str(by_plain[body.casefold()])
    raise LogbookError(
        f"no instrument here is written for in {values.shown(body)}",
        "write Bb, Eb, F, octave, or nothing for concert pitch",
    )


ARRANGED_SECTION = Noun(
    word="arranged-section",
    plural="arranged-sections",
    record=ArrangedSection,
    key=(),
    needs=("name",),
    help="one section of an arrangement's form",
    members=(
        Field(key="name", read=values.name, help="what it is called", example="chorus"),
        Field(
            key="source",
            read=_section_name,
            help="the version's section it comes from (empty: new)",
            example="chorus",
        ),
        Field(
            key="bars",
            read=values.maybe(_bars),
            help="its length (empty: as recorded)",
            example="8",
        ),
        Field(key="times", read=_times, help="how often it is played", example="2"),
        Field(
            key="vamp",
            read=values.yes_no,
            help="goes round until the cue",
            example="true",
            flag=True,
        ),
        Field(
            key="bpm",
            read=values.maybe(read_bpm),
            write=values.short,
            help="tempo from here on",
            example="84",
        ),
        Field(key="unit", read=read_unit, help="the note value of a beat", example="1/4"),
        Field(
            key="ramp",
            read=values.yes_no,
            help="moves evenly to the next tempo",
            example="true",
            flag=True,
        ),
        Field(key="cue", read=values.text, help="what tells players to go on", example="nod"),
        NOTES,
    ),
    line=Line(
        read=_read_section,
        write=_write_section,
        form="NAME [from SECTION] [N bars] [xN] [vamp]",
        example="chorus x2",
    ),
)

ARRANGED_PART = Noun(
    word="arranged-part",
    plural="arranged-parts",
    record=ArrangedPart,
    key=("part",),
    help="who plays what in an arrangement",
    members=(
        Field(key="part", read=part_name, help="the version's part", example="guitar"),
        Field(key="player", read=values.known("person"), help="who plays it", example="Ada Fenn"),
        Field(
            key="instrument",
            read=values.known("instrument"),
            help="on which instrument",
            example="the larch guitar",
        ),
        Field(key="tuning", read=tuning_name, help="in which tuning", example="standard"),
        Field(
            key="capo",
            read=_arranged_capo,
            help="with which capo, 0 for none (not said: as recorded)",
            example="3",
        ),
        Field(
            key="way",
            read=values.one_of("same shapes", "retuned", "new shapes"),
            help="how it gets to the new key",
            example="same shapes",
        ),
        Field(
            key="left_out",
            read=values.yes_no,
            help="not played",
            example="true",
            flag=True,
        ),
        Field(
            key="written_for",
            read=_written_for,
            help="a transposing instrument's pitch: Bb, Eb, F, octave",
            example="Bb",
        ),
        NOTES,
    ),
    line=Line(
        read=lambda line, context: {"part": part_name(line, context)},
        write=lambda part, context: part.part,
        form="PART",
        example="guitar",
    ),
)

ARRANGEMENT = Noun(
    word="arrangement",
    plural="arrangements",
    record=Arrangement,
    key=("name",),
    help="a live or lesson plan made from a version",
    members=(
        Field(key="name", read=values.name, help="what it is called", example="pub"),
        Field(key="purpose", read=values.text, help="what it is for", example="live"),
        Field(key="key", read=key_name, help="its key (empty: as recorded)", example="C"),
        Field(
            key="bpm",
            read=values.maybe(read_bpm),
            write=values.short,
            help="its tempo (empty: as recorded)",
            example="84",
        ),
        Field(key="unit", read=read_unit, help="the note value of a beat", example="1/4"),
        Field(
            key="count_in",
            names=("count_in_bars",),
            read=values.whole(0, 16),
            help="bars clicked before bar one",
            example="1",
        ),
        NOTES,
        Collection(
            attribute="sections",
            noun="arranged-section",
            keys=("sections", "section", "form"),
            whole=True,
        ),
        Collection(attribute="parts", noun="arranged-part", keys=("parts", "part")),
    ),
)

TRACK = Noun(
    word="track",
    plural="tracks",
    record=Track,
    key=("song", "version"),
    help="a version's place on a release",
    members=(
        Field(key="song", read=_song, help="which song", example="Low Water"),
        Field(key="version", read=_version, help="which version of it", example="album"),
    ),
    line=Line(
        read=_read_track,
        write=_write_track,
        form="SONG / VERSION",
        example="Low Water / album",
    ),
)

PROJECT = Noun(
    word="project",
    plural="projects",
    record=Project,
    key=("title",),
    help="a release or other body of work",
    members=(
        Field(key="title", read=values.name, help="its title", example="Boathouse"),
        Field(
            key="barcode",
            read=values.through(read_ean),
            help="EAN or UPC",
            example="6 291041 500213",
        ),
        Field(key="date", read=values.iso_date, help="when it comes out", example="2026-09-01"),
        NOTES,
        Collection(attribute="tracks", noun="track", keys=("tracks", "track"), whole=True),
    ),
)

SETLIST_ENTRY = Noun(
    word="setlist-entry",
    plural="setlist-entries",
    record=SetListEntry,
    key=(),
    needs=("song", "version"),
    help="one song of a set",
    members=(
        Field(key="song", read=_song, help="which song", example="Low Water"),
        Field(key="version", read=_version, help="which version of it", example="album"),
        Field(
            key="arrangement",
            read=_arrangement,
            help="which arrangement (empty: as recorded)",
            example="pub",
        ),
        Field(
            key="place",
            read=values.one_of("opener", "closer"),
            help="opener or closer, where it has to be",
            example="opener",
        ),
        Field(
            key="with_next",
            read=values.yes_no,
            help="stays together with the next one",
            example="true",
            flag=True,
        ),
        NOTES,
    ),
    line=Line(
        read=_read_entry,
        write=_write_entry,
        form="[opener:] SONG / VERSION [/ ARRANGEMENT] [+]",
        example="opener: Low Water / album / pub",
    ),
)

SETLIST = Noun(
    word="setlist",
    plural="setlists",
    record=SetList,
    key=("name",),
    help="arrangements in the order they are played",
    members=(
        Field(key="name", read=values.name, help="what it is called", example="harbour fair"),
        Field(key="date", read=values.iso_date, help="when", example="2026-06-20"),
        Field(key="place", read=values.text, help="where", example="the slipway"),
        NOTES,
        Collection(
            attribute="entries",
            noun="setlist-entry",
            keys=("songs", "song", "entries", "entry"),
            whole=True,
        ),
    ),
)
