"""Remarks, as both doors say them: lines that nobody could read yet, until they are settled."""

from __future__ import annotations

from logbook.notebook.declare import Noun, members_of
from logbook.records import Remark

REMARK = Noun(
    word="remark",
    plural="remarks",
    record=Remark,
    key=("name",),
    needs=("name", "text"),
    called=lambda remark: f"{remark.name}: {remark.text}",
    help="a notebook line that stays as it was typed until it is settled",
    members=members_of(Remark, __name__),
)
