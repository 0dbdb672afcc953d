"""Searching the log's words: titles, names, sections, people, and what was noted anywhere.

Every word looked for must occur in the same row, without regard to case, in whatever order.
"""

from __future__ import annotations

from typing import NamedTuple

from sqlalchemy import Connection

from logbook.names import bare
from logbook.store.finding import LogPlace

# Per table: the columns that are searched; the way up to the song, by the tables it leads
# through. Notes come last, so that a hit in a name is shown as that.
SEARCHED: dict[str, tuple[str, ...]] = {
    "song": ("title", "notes"),
    "version": ("name", "notes"),
    "form": ("name", "notes"),
    "lyric": ("text", "notes"),
    "melody": ("notes",),
    "part": ("name", "technique", "chain", "doubled_why", "notes"),
    "technique_note": ("text",),
    "voicing": ("label", "name", "notes"),
    "pattern": ("label", "notes"),
    "take": ("notes",),
    "punch_in": ("why",),
    "comp": ("name", "notes"),
    "comp_piece": ("notes",),
    "recall": ("device", "settings", "used_for", "notes"),
    "photograph": ("path", "device", "caption"),
    "deliverable": ("kind", "mix", "delivered_to", "files", "notes"),
    "vote": ("phrase", "notes"),
    "double": ("notes",),
    "overdub": ("notes",),
    "reused": ("notes",),
    "arrangement": ("name", "notes"),
    "audio_file": (
        *("path", "microphone", "description", "ixml_note", "ixml_take", "ixml_scene"),
        *("ixml_tracks", "tags", "originator"),
        "notes",
    ),
    "cue": ("label",),
    "person": ("name", "full_name", "credited_as", "other_names", "notes"),
    "session": ("name", "place", "gear", "notes"),
    "input_channel": ("source", "microphone", "preamp", "pad", "placed", "notes"),
    "hours": ("notes",),
    "instrument": ("name", "kind", "notes"),
    "tuning": ("name", "notes"),
    "project": ("title", "notes"),
    "setlist": ("name", "notes"),
}
UP = {
    "version": "song",
    "form": "version",
    "lyric": "version",
    "melody": "part",
    "part": "version",
    "technique_note": "part",
    "voicing": "part",
    "pattern": "part",
    "take": "part",
    "punch_in": "take",
    "comp": "part",
    "comp_piece": "comp",
    "vote": "part",
    "deliverable": "version",
    "double": "part",
    "overdub": "part",
    "reused": "part",
    "arrangement": "version",
}


class Hit(NamedTuple):
    """A row that holds the words: where it stands, the field, and the field's text."""

    kind: str
    id: int
    place: LogPlace
    field: str
    text: str


def search(connection: Connection, words: str, limit: int = 200) -> list[Hit]:
    """Up to `limit` rows that hold all of these words, songs first, then what stands in them."""
    wanted = bare(words).split()
    if not wanted:
        return []
    hits: list[Hit] = []
    for kind, columns in SEARCHED.items():
        found = _matching(connection, kind, columns, wanted)[: limit - len(hits)]
        places = whereabouts(connection, kind, [row[0] for row in found])
        hits.extend(
            Hit(kind, row[0], places.get(row[0], LogPlace()), row[1], row[2]) for row in found
        )
        if len(hits) >= limit:
            break
    return hits


def _matching(
    connection: Connection, kind: str, columns: tuple[str, ...], wanted: list[str]
) -> list[tuple[int, str, str]]:
    listed = ", ".join(f'"{column}"' for column in columns)
    filled = " OR ".join(f"\"{column}\" <> ''" for column in columns)
    found = []
    # Capitals and accents are left out here, not in SQL: SQLite knows no letters beyond a to z.
    for row in connection.exec_driver_sql(f'SELECT id, {listed} FROM "{kind}" WHERE {filled}'):
        texts = row[1:]
        whole = bare("\n".join(texts))
        if all(word in whole for word in wanted):
            field, text = next(
                (
                    (column, text)
                    for column, text in zip(columns, texts, strict=True)
                    if wanted[0] in bare(text)
                ),
                (columns[0], texts[0]),
            )
            found.append((row[0], field, text))
    return sorted(found)


def whereabouts(connection: Connection, kind: str, ids: list[int]) -> dict[int, LogPlace]:
    """The place of each of these rows, by names; nothing for what stands in no song."""
    if not ids:
        return {}
    listed = ", ".join(f"{number:d}" for number in ids)
    if kind == "audio_file":
        return _of_files(
            connection, f"SELECT f.id, f.id FROM audio_file f WHERE f.id IN ({listed})"
        )
    if kind == "cue":
        cues = f"SELECT c.id, c.audio_file_id FROM cue c WHERE c.id IN ({listed})"
        return _of_files(connection, cues)
    chain = [kind]
    while chain[-1] in UP:
        chain.append(UP[chain[-1]])
    if chain[-1] != "song":
        return {}
    joins = "".join(
        f' JOIN "{upper}" t{at + 1} ON t{at + 1}.id = t{at}.{upper}_id'
        for at, upper in enumerate(chain[1:])
    )
    names = {"song": "title", "version": "name", "part": "name", "take": "number"}
    columns = [
        f't{at}."{names[table]}"' if table in names else "NULL" for at, table in enumerate(chain)
    ]
    rows = connection.exec_driver_sql(
        f'SELECT t0.id, {", ".join(columns)} FROM "{kind}" t0{joins} WHERE t0.id IN ({listed})'
    )
    return {
        row[0]: LogPlace(
            **{
                table: value
                for table, value in zip(chain, row[1:], strict=True)
                if table in names and value is not None
            }
        )
        for row in rows
    }


def _of_files(connection: Connection, wanted: str) -> dict[int, LogPlace]:
    """The places of what lies in files: rows as a number and the number of its file."""
    files = dict(tuple(row) for row in connection.exec_driver_sql(wanted))
    listed = ", ".join(f"{number:d}" for number in set(files.values())) or "0"
    rows = connection.exec_driver_sql(
        "SELECT f.id, COALESCE(s.title, ''), COALESCE(v.name, ''), COALESCE(p.name, ''),"
        " t.number, f.path"
        " FROM audio_file f LEFT JOIN take t ON t.id = f.take_id"
        " LEFT JOIN part p ON p.id = COALESCE(f.part_id, t.part_id)"
        " LEFT JOIN version v ON v.id = COALESCE(f.version_id, p.version_id)"
        f" LEFT JOIN song s ON s.id = v.song_id WHERE f.id IN ({listed})"
    )
    places = {row[0]: LogPlace(row[1], row[2], row[3], row[4], file=row[5]) for row in rows}
    return {each: places[file] for each, file in files.items() if file in places}
