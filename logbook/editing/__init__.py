"""The editing room: takes, punch-ins and comps. Imports only the timing room."""

from __future__ import annotations

from logbook.editing.comp import CompPiece, comp_lines, parse_comp, parse_piece
from logbook.editing.doubling import Doubling, DoublingState, parse_doubling_state
from logbook.editing.survey import CompSurvey, Section, survey_comp
from logbook.editing.takes import PunchIn, Take, TakeId, TakeResult, parse_punch_in, parse_result

__all__ = [
    "CompPiece",
    "CompSurvey",
    "Doubling",
    "DoublingState",
    "PunchIn",
    "Section",
    "Take",
    "TakeId",
    "TakeResult",
    "comp_lines",
    "parse_comp",
    "parse_doubling_state",
    "parse_piece",
    "parse_punch_in",
    "parse_result",
    "survey_comp",
]
