"""A release as a whole: its tracks, how far every part of them has come, and what is still to do.

How far a part has come is the furthest of: nothing recorded, taken, keeper, comped. A part is
comped where its comp that counts covers the form; bars it says it is silent in need no cover.
"""

from __future__ import annotations

from collections import Counter
from typing import Any, NamedTuple

from logbook.errors import LogbookError
from logbook.names import alike
from logbook.records.deliverables import Deliverable
from logbook.records.delivered import missing_kinds
from logbook.records.log import Log, Project
from logbook.records.part_view import PartView
from logbook.records.parts import Part
from logbook.records.places import Session
from logbook.records.silence import silent_bars
from logbook.records.songs import Song, Version
from logbook.records.worked import total_minutes, worked_at
from logbook.sheets.blocks import CAUTION, Block, Facts, Heading, Items, Paragraph, Table
from logbook.sheets.heads import readable_map, version_head
from logbook.sheets.looks import Sheet, Wanted
from logbook.sheets.signs import with_signs
from logbook.timing.working_hours import length_text

NOTHING, TAKEN, KEEPER, COMPED = "nothing recorded", "taken", "kept", "comped"
_STATES = (COMPED, KEEPER, TAKEN, NOTHING)


class AskedRelease(NamedTuple):
    """Which release, and the log of its songs."""

    log: Log
    project: Project


class PartProgress(NamedTuple):
    """How far a part has come; `takes` and `keepers` are counts, `gaps` bars without a piece."""

    part: str
    player: str
    takes: int
    keepers: int
    state: str
    gaps: int
    doubled: str


class TrackProgress(NamedTuple):
    """A track of a release: its version as a whole, its parts, and what leaves the house of it."""

    number: int
    song: str
    version: str
    key: str
    tempo: str
    bars: int
    length: str
    isrc: str
    parts: tuple[PartProgress, ...]
    deliverables: tuple[Deliverable, ...]
    missing: tuple[str, ...]
    sessions: tuple[str, ...]

    @property
    def states(self) -> str:
        """How many parts have come how far: "2 comped, 1 taken"."""
        counts = Counter(part.state for part in self.parts)
        return ", ".join(f"{counts[state]} {state}" for state in _STATES if counts[state])


def build(subject: AskedRelease, wanted: Wanted) -> Sheet:
    """Return the sheet of a release, ready to be drawn."""
    del wanted
    log, project = subject
    tracks = release_tracks(log, project)
    names = dict.fromkeys(name for track in tracks for name in track.sessions)
    sessions = tuple(each for each in log.sessions if each.name in names)
    blocks: list[Block] = [Heading(1, project.title, "release"), Facts(release_facts(project))]
    if not tracks:
        blocks.append(Paragraph("No track is on it yet: logbook track add adds one."))
    else:
        blocks += [Heading(2, "Tracks"), Table(TRACK_HEAD, track_rows(tracks))]
    for track in tracks:
        blocks += _track(track)
    blocks += _hours(sessions)
    todo = _to_do(tracks)
    if todo:
        blocks += [Heading(2, "Still to do"), Items(todo, CAUTION)]
    kept = tuple(each for each in blocks if not (isinstance(each, Facts) and not each.rows))
    return Sheet("release", project.title, _data(project, tracks, sessions), kept, _rows(tracks))


def release_facts(project: Project) -> tuple[tuple[str, str], ...]:
    """What is said of a release itself, label and text."""
    rows = (
        ("artist", project.artist),
        ("date", project.date),
        ("EAN or UPC", project.barcode),
        ("genre", project.genre),
        ("℗", project.phonogram),
        ("©", project.copyright),
        ("notes", project.notes),
    )
    return tuple(row for row in rows if row[1])


def release_tracks(log: Log, project: Project) -> tuple[TrackProgress, ...]:
    """Return how far every track of a release has come; one that is not in the log is left out."""
    songs = {song.title: song for song in log.songs}
    found = []
    for number, track in enumerate(project.tracks, start=1):
        song = songs.get(track.song)
        if song is None:
            continue
        version = next((v for v in song.versions if alike(v.name, track.version)), None)
        if version is not None:
            found.append(_progress(log, number, song, version))
    return tuple(found)


def _progress(log: Log, number: int, song: Song, version: Version) -> TrackProgress:
    tempo_map, _ = readable_map(version)
    head = version_head(log, song, version, tempo_map)
    return TrackProgress(
        number=number,
        song=song.title,
        version=version.name,
        key=head.key,
        tempo=head.tempos[0] if head.tempos else "",
        bars=head.bars,
        length=head.length,
        isrc=version.isrc,
        parts=tuple(_part(PartView(log, song, version, part), part) for part in version.parts),
        deliverables=version.deliverables,
        missing=missing_kinds(version),
        sessions=tuple(
            dict.fromkeys(
                take.session for part in version.parts for take in part.takes if take.session
            )
        ),
    )


def _part(view: PartView, part: Part) -> PartProgress:
    keepers = sum(take.result == "keeper" for take in part.takes)
    state = KEEPER if keepers else TAKEN if part.takes else NOTHING
    gaps: set[int] = set()
    comp = view.comp
    if comp is not None and comp.pieces:
        try:
            for gap in view.cover_of(comp).gaps:
                gaps.update(gap.bars)
            gaps -= silent_bars(view.version, part)
            state = COMPED if not gaps else state
        except LogbookError:
            pass  # what is wrong with the comp `check` says
    return PartProgress(
        part.name, part.player, len(part.takes), keepers, state, len(gaps), part.doubled
    )


# In blocks

TRACK_HEAD = ("track", "version", "key", "length", "parts", "deliverables")


def track_rows(tracks: tuple[TrackProgress, ...]) -> tuple[tuple[str, ...], ...]:
    """The tracks as rows of a table."""
    return tuple(
        (
            f"{track.number} {track.song}",
            track.version,
            with_signs(track.key) if track.key else "",
            track.length or (f"{track.bars} bars" if track.bars else ""),
            track.states or "no parts",
            _delivered(track),
        )
        for track in tracks
    )


def _delivered(track: TrackProgress) -> str:
    return ", ".join(f"{each.kind} {each.status}" for each in track.deliverables) or "none"


def _track(track: TrackProgress) -> list[Block]:
    aside = ", ".join(filter(None, (track.version, track.tempo, track.length, track.isrc)))
    blocks: list[Block] = [Heading(2, f"{track.number} {track.song}", aside)]
    if not track.parts:
        return [*blocks, Paragraph("No part is logged yet.")]
    head = ("part", "player", "takes", "keepers", "how far", "doubled")
    blocks.append(
        Table(
            head,
            tuple(
                (
                    part.part,
                    part.player or "-",
                    str(part.takes),
                    str(part.keepers),
                    f"{part.state}, {_bars(part.gaps)} open" if part.gaps else part.state,
                    part.doubled,
                )
                for part in track.parts
            ),
        )
    )
    return blocks


def _bars(count: int) -> str:
    return f"{count} bar" if count == 1 else f"{count} bars"


def _hours(sessions: tuple[Session, ...]) -> list[Block]:
    if not sessions:
        return []
    worked = worked_at(sessions)
    rows = []
    for session in sessions:
        own = [each for each in worked if each.session == session.name]
        minutes = total_minutes(own)
        rows.append(
            (session.name, session.date, session.place, length_text(minutes) if own else "-")
        )
    blocks: list[Block] = [
        Heading(2, "Sessions"),
        Table(("session", "date", "place", "hours worked"), tuple(rows)),
    ]
    if worked:
        blocks.append(Paragraph(f"All hours together: {length_text(total_minutes(worked))}."))
    return blocks


def _to_do(tracks: tuple[TrackProgress, ...]) -> tuple[str, ...]:
    told = []
    for track in tracks:
        open_parts = [part.part for part in track.parts if part.state in (NOTHING, TAKEN)]
        if open_parts:
            told.append(f"{track.song}: no keeper and no comp of {', '.join(open_parts)}")
        gaps = [f"{part.part} ({_bars(part.gaps)})" for part in track.parts if part.gaps]
        if gaps:
            told.append(f"{track.song}: the comp leaves bars open of {', '.join(gaps)}")
        left = [e.kind for e in track.deliverables if e.status in ("wanted", "in work")]
        if left:
            told.append(f"{track.song}: to be delivered: {', '.join(left)}")
        if not track.isrc:
            told.append(f"{track.song}: no ISRC")
    return tuple(told)


def _rows(tracks: tuple[TrackProgress, ...]) -> tuple[tuple[object, ...], ...]:
    head = ("track", "song", "version", "part", "player", "takes", "keepers", "how_far", "gaps")
    return (
        head,
        *(
            (track.number, track.song, track.version, part.part, part.player, part.takes,
             part.keepers, part.state, part.gaps)
            for track in tracks
            for part in track.parts
        ),
    )  # fmt: skip


def _data(
    project: Project, tracks: tuple[TrackProgress, ...], sessions: tuple[Session, ...]
) -> dict[str, Any]:
    worked = worked_at(sessions)
    return {
        "title": project.title,
        "facts": dict(release_facts(project)),
        "tracks": [
            {
                **{k: v for k, v in track._asdict().items() if k not in ("parts", "deliverables")},
                "parts": [part._asdict() for part in track.parts],
                "deliverables": [
                    {"kind": each.kind, "mix": each.mix, "status": each.status}
                    for each in track.deliverables
                ],
            }
            for track in tracks
        ],
        "sessions": [
            {
                "session": each.name,
                "date": each.date,
                "minutes": total_minutes(w for w in worked if w.session == each.name),
            }
            for each in sessions
        ],
        "minutes": total_minutes(worked),
    }
