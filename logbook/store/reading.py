"""Reading the log: the whole of it, what one song needs, one thing, or a list of names.

Nothing here imports the models; `loading` says how rows become records.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from sqlalchemy import Connection, bindparam, text

from logbook.records import Log
from logbook.store.finding import NAME_COLUMNS
from logbook.store.layout import SHAPES
from logbook.store.loading import LoadedRow, load

_AT_ONCE = 1_000


def read_log(connection: Connection, song_ids: Sequence[int] | None = None) -> Log:
    """The whole log, or the slice that these songs need.

    A slice holds the songs, the people, instruments, tunings and sessions they name, and the
    projects and set lists they are on; never files that hang on nothing.
    """
    if song_ids is None:
        return _whole(connection)
    ids = _numbers(song_ids)
    where = f"t.id IN ({ids})"
    songs = _records(load(connection, "song", where))
    versions = f"t.version_id IN (SELECT v.id FROM version v WHERE v.song_id IN ({ids}))"
    projects = f"t.id IN (SELECT t.project_id FROM project_track t WHERE {versions})"
    setlists = f"t.id IN (SELECT t.setlist_id FROM setlist_entry t WHERE {versions})"
    sessions = _named(connection, "session", _sessions_of(songs))
    people, instruments, tunings = _names_of(songs)
    for session in sessions:
        people |= {each.person for each in (*session.people, *session.hours)}
    owned = _named(connection, "instrument", instruments)
    tunings |= {instrument.tuning for instrument in owned}
    return Log(
        people=_named(connection, "person", people),
        tunings=_named(connection, "tuning", tunings),
        instruments=owned,
        sessions=sessions,
        songs=songs,
        projects=_records(load(connection, "project", projects)),
        setlists=_records(load(connection, "setlist", setlists)),
    )


def _whole(connection: Connection, *, songs: bool = True) -> Log:
    loose = "t.take_id IS NULL AND t.part_id IS NULL AND t.version_id IS NULL"
    return Log(
        people=_records(load(connection, "person")),
        tunings=_records(load(connection, "tuning")),
        instruments=_records(load(connection, "instrument")),
        sessions=_records(load(connection, "session")),
        songs=_records(load(connection, "song")) if songs else (),
        projects=_records(load(connection, "project")),
        setlists=_records(load(connection, "setlist")),
        remarks=_records(load(connection, "remark")),
        files=_records(load(connection, "audio_file", loose)),
    )


def read_without_songs(connection: Connection) -> Log:
    """The whole log but its songs, for whoever reads those one after another."""
    return _whole(connection, songs=False)


def read_titles(connection: Connection) -> tuple[Any, ...]:
    """Every song by its title, with the names of its versions and arrangements and no more."""
    from logbook.records import Arrangement, Song, Version

    arranged: dict[int, list[Any]] = {}
    for version, name in connection.exec_driver_sql(
        "SELECT version_id, name FROM arrangement ORDER BY position, id"
    ):
        arranged.setdefault(version, []).append(Arrangement(name=name))
    versions: dict[int, list[Any]] = {}
    for song, version, name in connection.exec_driver_sql(
        "SELECT song_id, id, name FROM version ORDER BY position, id"
    ):
        made = Version(name=name, arrangements=tuple(arranged.get(version, ())))
        versions.setdefault(song, []).append(made)
    titles = connection.exec_driver_sql("SELECT id, title FROM song ORDER BY id")
    return tuple(Song(title=title, versions=tuple(versions.get(id, ()))) for id, title in titles)


def song_ids(connection: Connection) -> list[int]:
    """The numbers of all songs, in order."""
    return [int(row[0]) for row in connection.exec_driver_sql("SELECT id FROM song ORDER BY id")]


def _records(rows: Iterable[LoadedRow]) -> tuple[Any, ...]:
    return tuple(row.record for row in rows)


def _numbers(ids: Iterable[int]) -> str:
    return ", ".join(f"{number:d}" for number in ids) or "NULL"


def _sessions_of(songs: Iterable[Any]) -> set[str]:
    names: set[str] = set()
    for song in songs:
        for version in song.versions:
            for part in version.parts:
                names.update(take.session for take in part.takes)
                names.update(overdub.session for overdub in part.overdubs)
                names.update(vote.session for vote in part.votes)
                for comp in part.comps:
                    names.update(piece.session for piece in comp.pieces)
    return names


def _names_of(songs: Iterable[Any]) -> tuple[set[str], set[str], set[str]]:
    people: set[str] = set()
    instruments: set[str] = set()
    tunings: set[str] = set()
    for song in songs:
        people.update(share.person for share in song.shares)
        roles = list(song.roles)
        played = []
        for version in song.versions:
            roles.extend(version.roles)
            played.extend(version.parts)
            for part in version.parts:
                roles.extend(part.roles)
                people.update(vote.person for vote in part.votes)
            for arrangement in version.arrangements:
                played.extend(arrangement.parts)
        people.update(role.person for role in roles)
        for part in played:
            people.add(part.player)
            instruments.add(part.instrument)
            tunings.add(part.tuning)
    return people, instruments, tunings


def _named(connection: Connection, kind: str, names: set[str]) -> tuple[Any, ...]:
    ids = ids_named(connection, kind, names - {""})
    return _records(load(connection, kind, f"t.id IN ({_numbers(ids)})")) if ids else ()


def ids_named(connection: Connection, kind: str, names: Iterable[str]) -> list[int]:
    """The ids of the rows of `kind` with exactly these names."""
    wanted = sorted(names)
    if not wanted:
        return []
    column = NAME_COLUMNS[kind]
    statement = text(f'SELECT id FROM "{kind}" WHERE "{column}" IN :names').bindparams(
        bindparam("names", expanding=True)
    )
    return sorted(row[0] for row in connection.execute(statement, {"names": wanted}))


def read_rows(
    connection: Connection, kind: str, ids: Sequence[int] | None = None
) -> list[LoadedRow]:
    """All records of a kind, or those with these ids, with their ids and revisions."""
    shape = SHAPES[kind]
    owner = shape.owners[0] if len(shape.owners) == 1 else None
    where = "" if ids is None else f"t.id IN ({_numbers(ids)})"
    return load(connection, kind, where, owner)


def file_ids(connection: Connection, folder: str, paths: Sequence[str]) -> list[int]:
    """The ids of the audio files of these paths in one folder."""
    # By both, since a usual name may stand in thousands of folders; the second condition lets
    # SQLite see that its index of the files that have a folder will do.
    has_folder = " AND folder <> ''" if folder else ""
    statement = text(
        f"SELECT id FROM audio_file WHERE folder = :folder{has_folder} AND path IN :paths"
    ).bindparams(bindparam("paths", expanding=True))
    found = connection.execute(statement, {"folder": folder, "paths": list(paths)})
    return sorted(int(row[0]) for row in found)


def each_record(
    connection: Connection, kind: str, *, shallow: bool = False, at_once: int = _AT_ONCE
) -> Iterator[Any]:
    """Every record of a kind in the order they came, so many in memory at a time."""
    last = 0
    while True:
        found = connection.exec_driver_sql(
            f'SELECT MAX(id) FROM (SELECT id FROM "{kind}" WHERE id > {last:d}'
            f" ORDER BY id LIMIT {at_once:d}) AS next"
        ).scalar()
        if found is None:
            return
        where = f"t.id > {last:d} AND t.id <= {int(found):d}"
        rows = load(connection, kind, where, shallow=shallow)
        rows.sort(key=lambda row: row.id)
        yield from (row.record for row in rows)
        last = int(found)


def read_one(connection: Connection, kind: str, row_id: int) -> LoadedRow | None:
    """One record with all that it holds, or None if it is gone."""
    rows = read_rows(connection, kind, [row_id])
    return rows[0] if rows else None


def owners_with(connection: Connection, kind: str, owner: str) -> list[int]:
    """The ids of the `owner` rows that hold a row of `kind`, in order."""
    rows = connection.exec_driver_sql(
        f'SELECT DISTINCT {owner}_id FROM "{kind}" WHERE {owner}_id IS NOT NULL ORDER BY 1'
    )
    return [int(row[0]) for row in rows]
