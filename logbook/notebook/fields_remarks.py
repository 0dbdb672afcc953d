"""Remarks, as both doors say them: lines that nobody could read yet, until they are settled."""

from __future__ import annotations

from logbook.notebook import values
from logbook.notebook.declare import Field, Noun
from logbook.records import Remark

REMARK = Noun(
    word="remark",
    plural="remarks",
    record=Remark,
    key=("name",),
    needs=("name", "text"),
    called=lambda remark: f"{remark.name}: {remark.text}",
    help="a notebook line that stays as it was typed until it is settled",
    members=(
        Field(key="name", read=values.name, help="its number", example="3"),
        Field(key="text", read=values.text, help="the line as it was typed", example="the odd bit"),
        Field(
            key="why",
            read=values.text,
            help="what in it could not be read",
            example="no kind of line begins like this",
        ),
        Field(
            key="place",
            read=values.text,
            help="where the work was",
            example="Low Water / album / guitar",
        ),
        Field(
            key="written_at",
            read=values.text,
            help="when it was written",
            example="2026-05-02T10:14:00.000Z",
        ),
        Field(
            key="settled",
            read=values.text,
            help="what became of it (empty: nothing yet)",
            example="asked Oda, it was take 4",
        ),
    ),
)
