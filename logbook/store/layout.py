"""Which record lies in which table and columns: the one map that reading and writing share.

Conventions
-----------
How each field is kept its record says (`logbook.records.fields.storage_of`); here stand the
tables, what a row belongs to, and by which fields it is known again. `store.models` refuses to
load when a table lacks a column of this map, so that reading need not import the models.
"""

from __future__ import annotations

from dataclasses import Field as RecordField
from dataclasses import fields
from typing import Any, NamedTuple

from logbook import records
from logbook.records.fields import storage_of


class StoredField(NamedTuple):
    """One field of a record: how it is kept ("plain", "bool", "json", "share", "ref", "song")."""

    name: str
    kind: str
    columns: tuple[str, ...]
    table: str = ""


class Child(NamedTuple):
    """A field that holds records of another table, which points back by `column`."""

    field: str
    table: str
    column: str
    single: bool = False


class Shape(NamedTuple):
    """A record class and the table it lies in.

    `owners` are the columns that say what a row belongs to (one of them, if several); `key` the
    fields by which a record is known again among its owner's; `listed` says that the owner
    states the list as a whole; `order` the fields by which a single new row finds its place.
    """

    record: type[Any]
    table: str
    owners: tuple[str, ...]
    fields: tuple[StoredField, ...]
    children: tuple[Child, ...]
    key: tuple[str, ...]
    listed: bool
    order: tuple[str, ...]

    def field(self, name: str) -> StoredField:
        """The field called `name`."""
        return next(field for field in self.fields if field.name == name)


SHAPES: dict[str, Shape] = {}
TABLE_OF: dict[type[Any], str] = {}


def _field(each: RecordField[Any]) -> StoredField | None:
    kind = storage_of(each)
    name = each.name
    if kind.startswith(">"):
        table, _, column = kind[1:].partition(":")
        return StoredField(name, "ref", (column or f"{name}_id",), table)
    if kind in ("row", "rows"):
        return None
    columns = {"share": ("numerator", "denominator"), "song": ()}.get(kind, (name,))
    return StoredField(name, kind, columns)


def _shape(
    record: type[Any],
    table: str,
    *,
    owners: str = "",
    key: str,
    listed: bool = False,
    order: str = "",
) -> None:
    SHAPES[table] = Shape(
        record,
        table,
        tuple(f"{owner}_id" for owner in owners.split()),
        tuple(field for each in fields(record) if (field := _field(each)) is not None),
        (),
        tuple(key.split()),
        listed,
        tuple(order.split()),
    )
    TABLE_OF[record] = table


def _with_children(shape: Shape) -> Shape:
    """A shape with the rows that its record's fields hold."""
    by_name = {record.__name__: table for record, table in TABLE_OF.items()}
    held = []
    for each in fields(shape.record):
        if storage_of(each) in ("row", "rows"):
            held_type = str(each.type).removeprefix("tuple[").partition(",")[0].partition(" ")[0]
            single = storage_of(each) == "row"
            held.append(Child(each.name, by_name[held_type], f"{shape.table}_id", single))
    return shape._replace(children=tuple(held))


_shape(records.Person, "person", key="name")
_shape(records.Tuning, "tuning", key="name")
_shape(records.Instrument, "instrument", key="name")
_shape(records.Session, "session", key="name")
_shape(records.InputChannel, "input_channel", owners="session", key="channel source", listed=True)
_shape(records.Hours, "hours", owners="session", key="person started_at", listed=True)
_shape(
    records.Role,
    "role",
    owners="song version session part",
    key="person role instrument",
    listed=True,
)
_shape(records.Recall, "recall", owners="session part", key="device used_for", listed=True)
_shape(records.Photograph, "photograph", owners="session part", key="path", listed=True)
_shape(records.Song, "song", key="title")
_shape(records.Share, "share", owners="song", key="person side", listed=True)
_shape(records.Version, "version", owners="song", key="name")
_shape(records.FormSection, "form", owners="version", key="start", listed=True, order="start")
_shape(records.MeterChange, "meter_change", owners="version", key="bar", listed=True, order="bar")
_shape(records.Lyric, "lyric", owners="version", key="bar beat", listed=True, order="bar beat")
_shape(
    records.TempoChange,
    "tempo_change",
    owners="version",
    key="bar beat",
    listed=True,
    order="bar beat",
)
_shape(records.Part, "part", owners="version", key="name")
_shape(records.TechniqueNote, "technique_note", owners="part", key="text bars", listed=True)
_shape(records.Voicing, "voicing", owners="part", key="label")
_shape(records.Pattern, "pattern", owners="part", key="label")
_shape(records.ChartEntry, "chart", owners="part", key="bar beat", listed=True, order="bar beat")
_shape(records.Melody, "melody", owners="part", key="bar beat", listed=True, order="bar beat")
_shape(records.Take, "take", owners="part", key="session number")
_shape(records.PunchIn, "punch_in", owners="take", key="bars number", listed=True)
_shape(records.Comp, "comp", owners="part", key="name")
_shape(records.CompPiece, "comp_piece", owners="comp", key="bars", listed=True)
_shape(records.Vote, "vote", owners="part", key="person bars take session", listed=True)
_shape(records.Double, "double", owners="part", key="part", listed=True)
_shape(records.Overdub, "overdub", owners="part", key="over session bars", listed=True)
_shape(records.Reused, "reused", owners="part", key="source bars", listed=True)
_shape(records.AudioFile, "audio_file", owners="take part version", key="folder path")
_shape(records.Cue, "cue", owners="audio_file", key="frame label", listed=True, order="frame")
_shape(records.FileCopy, "file_copy", owners="audio_file", key="place", listed=True)
_shape(records.Measurement, "measurement", owners="audio_file", key="", listed=True)
_shape(records.HeardChord, "heard_chord", owners="audio_file", key="place", listed=True)
_shape(records.HeardDouble, "heard_double", owners="audio_file", key="other", listed=True)
_shape(records.Deliverable, "deliverable", owners="version", key="kind mix", listed=True)
_shape(records.Arrangement, "arrangement", owners="version", key="name")
_shape(records.ArrangedSection, "arranged_section", owners="arrangement", key="name", listed=True)
_shape(records.ArrangedPart, "arranged_part", owners="arrangement", key="part", listed=True)
_shape(records.SetList, "setlist", key="name")
_shape(
    records.SetListEntry,
    "setlist_entry",
    owners="setlist",
    key="song version arrangement",
    listed=True,
)
_shape(records.Project, "project", key="title")
_shape(records.Track, "project_track", owners="project", key="song version", listed=True)
_shape(records.Remark, "remark", key="name")
SHAPES.update({table: _with_children(shape) for table, shape in SHAPES.items()})
