"""Two takes of a part set side by side: length, implied tempo, punch-ins and use."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from logbook.editing.survey import CompSurvey
from logbook.editing.surveyed import TakeShare
from logbook.editing.takes import PunchedBars, TakeId, TakeResult, TakeSpan, implied_tempo
from logbook.editing.words import share_said, take_said
from logbook.timing.bars import BarRange, ranges_text
from logbook.timing.tempo import Tempo
from logbook.timing.tempo_map import TempoMap

_UNKNOWN = "not known"


@dataclass(frozen=True, slots=True, kw_only=True)
class TakeFacts:
    """What is known of one take. Lengths in seconds; None is not known.

    `expected_seconds` is how long its bars last in the tempo map, `implied_tempo` the tempo at
    which they would last as long as its audio, `used_at` where it stands in the finished part and
    `share` how much of that it makes up, None for nothing.
    """

    take: TakeId
    result: TakeResult | None
    bars: BarRange | None
    file_seconds: Fraction | None
    expected_seconds: Fraction | None
    implied_tempo: Tempo | None
    punch_ins: tuple[PunchedBars, ...]
    used_at: tuple[BarRange, ...]
    share: TakeShare | None
    note: str


def take_facts(take: TakeSpan, tempo_map: TempoMap, survey: CompSurvey | None = None) -> TakeFacts:
    """Gather what is known of a take; `survey` is that of the part's comp, if there is one.

    Raises LogbookError when the take's bars are not in the map.
    """
    used = [piece for piece in survey.pieces if _is_from(piece.take, take)] if survey else []
    shares = [share for share in survey.shares if share.take == take.id] if survey else []
    return TakeFacts(
        take=take.id,
        result=take.result,
        bars=take.bars,
        file_seconds=take.file_seconds,
        expected_seconds=tempo_map.seconds_of(take.bars) if take.bars else None,
        implied_tempo=implied_tempo(take, tempo_map),
        punch_ins=take.punch_ins,
        used_at=tuple(piece.bars for piece in used) if shares else (),
        share=shares[0] if shares else None,
        note=take.note,
    )


def side_by_side(
    first: TakeSpan, second: TakeSpan, tempo_map: TempoMap, survey: CompSurvey | None = None
) -> tuple[TakeFacts, TakeFacts]:
    """The facts of two takes, to be read against each other. Raises as `take_facts` does."""
    return take_facts(first, tempo_map, survey), take_facts(second, tempo_map, survey)


def side_by_side_rows(
    first: TakeFacts, second: TakeFacts, takes: Sequence[TakeSpan] = ()
) -> list[tuple[str, str, str, str]]:
    """The comparison as rows of text: what, first take, second take, second less first.

    The first row heads the columns. `takes` tells which numbers need their session beside them.
    """
    return [
        ("", f"take {take_said(first.take, takes)}", f"take {take_said(second.take, takes)}", ""),
        ("result", _text(first.result), _text(second.result), ""),
        ("bars", _text(first.bars), _text(second.bars), ""),
        (
            "length",
            _seconds(first.file_seconds),
            _seconds(second.file_seconds),
            _difference(first.file_seconds, second.file_seconds, " s", 3),
        ),
        (
            "length by the map",
            _seconds(first.expected_seconds),
            _seconds(second.expected_seconds),
            _difference(first.expected_seconds, second.expected_seconds, " s", 3),
        ),
        (
            "implied tempo",
            _tempo(first.implied_tempo),
            _tempo(second.implied_tempo),
            _tempo_difference(first.implied_tempo, second.implied_tempo),
        ),
        ("punch-ins", _punch_ins(first), _punch_ins(second), ""),
        ("used at", _used(first), _used(second), ""),
        ("note", first.note or "-", second.note or "-", ""),
    ]


def _is_from(named: TakeId, take: TakeSpan) -> bool:
    if named[2:] != take.id[2:]:
        return False
    return named.number == take.number and named.session in ("", take.session)


def _text(value: object) -> str:
    return _UNKNOWN if value is None else str(value)


def _seconds(value: Fraction | None) -> str:
    return _UNKNOWN if value is None else f"{float(value):.3f} s"


def _tempo(tempo: Tempo | None) -> str:
    if tempo is None:
        return _UNKNOWN
    unit, _, _ = str(tempo).partition("=")
    return f"{unit}={float(tempo.bpm):.2f}"


def _tempo_difference(first: Tempo | None, second: Tempo | None) -> str:
    if first is None or second is None:
        return ""
    return _difference(first.bpm, second.in_unit(first.unit).bpm, "", 2)


def _difference(first: Fraction | None, second: Fraction | None, unit: str, places: int) -> str:
    if first is None or second is None:
        return ""
    return f"{float(second - first):+.{places}f}{unit}"


def _punch_ins(facts: TakeFacts) -> str:
    return "; ".join(map(str, facts.punch_ins)) or "none"


def _used(facts: TakeFacts) -> str:
    if facts.share is None:
        return "not used"
    return f"{ranges_text(facts.used_at)} ({share_said(facts.share)})"
