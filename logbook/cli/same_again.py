"""What `--like`, `--only` and `--keep` do: songs, parts and capos like what already exists."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from logbook.cli.printing import remark
from logbook.errors import LogbookError
from logbook.names import pick

if TYPE_CHECKING:
    from logbook.cli.noun_place import Owner
    from logbook.records import Part, Song
    from logbook.store.changing import Change


def song_begun_like(change: Change, song: Song, like: str) -> None:
    """Give a new song the instruments, tunings, capos, counting and people of another one."""
    from logbook.records.same_again import song_like
    from logbook.store.finding import LogPlace, find
    from logbook.store.here import move_here, read_here
    from logbook.store.reading import read_one
    from logbook.store.writing import put

    found = find(change.connection, "song", like)
    row = read_one(change.connection, "song", found.id)
    old: Song | None = row.record if row else None
    if old is None or not old.versions:
        raise LogbookError(f"{found.name} has no version to go by", "name another song")
    here = read_here(change.connection)
    current = here.version if here.song == old.title else ""
    version = next((each for each in old.versions if each.name == current), old.versions[0])
    new = song_like(song.title, old, version)
    put(change, new, given={"roles", "versions"})
    part = here.part if any(each.name == here.part for each in version.parts) else ""
    if not part and version.parts:
        part = version.parts[0].name
    move_here(change.connection, LogPlace(song.title, version.name, part, session=here.session))
    names = ", ".join(each.name for each in version.parts)
    remark(f"like {old.title}: version {version.name}" + (f" with {names}" if names else ""))


def part_begun_like(
    change: Change, owner: Owner, part: Part, like: str, only: Sequence[str]
) -> None:
    """Give a new part the chords and chart of another one of its version."""
    from logbook.records.same_again import part_like
    from logbook.store.writing import put

    version = owner.records[-1]
    names = [each.name for each in version.parts]
    source = next(each for each in version.parts if each.name == pick(like, names, "part"))
    new = part_like(part, source, version.form, only)
    fields = {"instrument", "tuning", "capo", "counted", "picked"}
    put(change, new, owner.place, fields | {"voicings", "patterns", "chart"})
    where = f" in {' and '.join(only)}" if only else ""
    remark(f"like {source.name}{where}: {len(new.voicings)} voicings and the chart")


def capo_kept(change: Change, owner: Owner, old: Part, new: Part, keep: str) -> None:
    """Move a part's fret lines along with its capo, so that shapes or sound stay."""
    from logbook.records.part_view import PartView as PartView
    from logbook.records.same_again import recapoed
    from logbook.store.reading import read_log
    from logbook.store.writing import put

    if keep not in ("shapes", "sound"):
        raise LogbookError(f"--keep {keep} is not known", "write --keep shapes or --keep sound")
    song, version = owner.records[0], owner.records[-1]
    log = read_log(change.connection, [_song_id(change, song.title)])
    tuning = PartView(log, song, version, old).tuning
    if tuning is None:
        raise LogbookError(f"{old.name} says no tuning", "say it first, with --tuning")
    moved = recapoed(old, new.capo, tuning, keep)
    place = owner.place._replace(part=new.name)
    changed = [v for v, before in zip(moved, old.voicings, strict=True) if v != before]
    for voicing in changed:
        put(change, voicing, place)
    what = "sounds as before" if keep == "sound" else "is held as before"
    remark(f"{len(changed)} of {len(moved)} fret lines rewritten; every chord {what}")


def _song_id(change: Change, title: str) -> int:
    from logbook.store.finding import find

    return find(change.connection, "song", title).id
