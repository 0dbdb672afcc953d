"""The editing room: takes, punch-ins and comps. Imports only the timing room."""

from __future__ import annotations

from logbook.editing.comp import EditPiece, comp_lines, parse_comp, parse_piece
from logbook.editing.doubling import Doubling, DoublingState, parse_doubling_state
from logbook.editing.survey import CompSurvey, Section, survey_comp
from logbook.editing.takes import (
    PunchedBars,
    TakeId,
    TakeResult,
    TakeSpan,
    parse_punch_in,
    parse_result,
)

__all__ = [
    "CompSurvey",
    "Doubling",
    "DoublingState",
    "EditPiece",
    "PunchedBars",
    "Section",
    "TakeId",
    "TakeResult",
    "TakeSpan",
    "comp_lines",
    "parse_comp",
    "parse_doubling_state",
    "parse_piece",
    "parse_punch_in",
    "parse_result",
    "survey_comp",
]
