"""The comp as a person would say it, in one sentence of clauses.

"takes 2 and 5, one punch-in at bar 12; bars 41-48 repeat 9-16; doubled by the second guitar,
panned apart". Bars "repeat" others where the same bars of the take are heard at their own
place too. Nothing is said that was not logged, and what is not known is said to be so.
"""

from __future__ import annotations

from collections.abc import Sequence

from logbook.editing.doubling import Doubling, DoublingState
from logbook.editing.survey import CompSurvey, Reuse
from logbook.editing.takes import TakeId, TakeResult, TakeSpan
from logbook.editing.words import bars_said, listed, named, number_word, takes_said
from logbook.timing.bars import BarRange

_ARTICLES = ("the ", "a ", "an ", "his ", "her ", "their ", "my ", "our ", "himself", "herself")


def tell_comp(
    survey: CompSurvey | None, takes: Sequence[TakeSpan], doubling: Doubling | None = None
) -> str:
    """Say how a part was put together; `survey` is None when no comp is logged.

    `doubling` adds whether it was doubled; None leaves that out.
    """
    if survey is None or not survey.pieces:
        clauses = [_tell_no_comp(takes)]
    else:
        clauses = [
            _tell_takes(survey, takes),
            *_tell_reuse(survey, takes),
            *_tell_holes(survey, takes),
        ]
    if doubling is not None:
        clauses.append(tell_doubling(doubling))
    return "; ".join(clauses)


def tell_doubling(doubling: Doubling) -> str:
    """Say whether a part was doubled, by which part, how it was panned, and why."""
    if doubling.state is DoublingState.UNKNOWN:
        said = "not known whether it was doubled"
    elif doubling.state is DoublingState.NOT_DOUBLED:
        said = "not doubled"
        if not doubling.why:
            said += ", no reason noted"
    else:
        said = "doubled"
        said += (
            f" by {listed([_with_article(name) for name in doubling.by])}"
            if doubling.by
            else ", by which part is not noted"
        )
        said += _tell_panning(doubling)
    return f"{said}: {doubling.why}" if doubling.why else said


def _tell_panning(doubling: Doubling) -> str:
    """Where the doubles were panned; with names where not all of them are said."""
    panned = [pan.removeprefix("panned").strip() for pan in doubling.panned]
    if not any(panned):
        return ""
    if all(panned):
        return f", panned {listed(list(dict.fromkeys(panned)))}"
    named = [f"{name} panned {pan}" for name, pan in zip(doubling.by, panned, strict=True) if pan]
    return f", {listed(named)}"


def _tell_no_comp(takes: Sequence[TakeSpan]) -> str:
    if not takes:
        return "no takes and no comp logged"
    keepers = [take.id for take in takes if take.result is TakeResult.KEEPER]
    if not keepers:
        return f"no comp logged; {takes_said([take.id for take in takes], takes)} recorded"
    verb = "is the keeper" if len(keepers) == 1 else "are keepers"
    return f"no comp logged; {takes_said(keepers, takes)} {verb}"


def _tell_takes(survey: CompSurvey, takes: Sequence[TakeSpan]) -> str:
    used = [share.take for share in survey.shares]
    said = takes_said(used, takes)
    holes = survey.gaps or survey.outside_form
    if survey.is_one_pass:
        where = f" over {bars_said(survey.covered)}" if holes else " from beginning to end"
        if used[0].file:
            return said + where
        said += where + (", one untouched pass" if survey.is_untouched else ", one pass")
    elif len(used) == 1:
        pieces = len(survey.pieces) - sum(join.is_continuous for join in survey.joins)
        if not used[0].file and _is_pass_with_repeats(survey):
            said += ", one pass with bars repeated"
        else:
            said += f" in {number_word(pieces)} {'piece' if pieces == 1 else 'pieces'}"
    return said + _tell_punch_ins(survey)


def _is_pass_with_repeats(survey: CompSurvey) -> bool:
    """Whether every moved stretch is also heard at its own place, and so merely repeats it."""
    at_home = {(reuse.take, reuse.source) for reuse in survey.reuses if not reuse.is_moved}
    return bool(at_home) and all((each.take, each.source) in at_home for each in survey.reuses)


def _tell_punch_ins(survey: CompSurvey) -> str:
    heard = survey.punch_ins
    if not heard:
        return ""
    first = sorted(place for each in heard for place in each.first)
    again = sorted(place for each in heard for place in each.again)
    word = "punch-in" if len(heard) == 1 else "punch-ins"
    said = f", {number_word(len(heard))} {word} at {bars_said(first)}"
    return f"{said}, heard again at {bars_said(again)}" if again else said


def _tell_reuse(survey: CompSurvey, takes: Sequence[TakeSpan]) -> list[str]:
    groups: dict[tuple[TakeId, BarRange], list[Reuse]] = {}
    for reuse in survey.reuses:
        groups.setdefault((reuse.take, reuse.source), []).append(reuse)
    clauses = []
    for (take, source), reuses in groups.items():
        moved = [reuse.at for reuse in reuses if reuse.is_moved]
        here = bars_said(moved)
        one = here.startswith("bar ")
        if len(moved) < len(reuses):
            clauses.append(f"{here} {'repeats' if one else 'repeat'} {source}")
        else:
            there = f"{bars_said([source])} of {named(take, takes)}"
            clauses.append(f"{here} {'is' if one else 'are'} {there}")
    return clauses


def _tell_holes(survey: CompSurvey, takes: Sequence[TakeSpan]) -> list[str]:
    clauses = []
    if survey.gaps:
        clauses.append(f"nothing at {bars_said(survey.gaps)}")
    if survey.overlaps:
        clauses.append(f"{bars_said([each.bars for each in survey.overlaps])} claimed twice")
    if survey.missing_takes:
        verb = "is" if len(survey.missing_takes) == 1 else "are"
        clauses.append(f"{takes_said(survey.missing_takes, takes)} {verb} not logged")
    return clauses


def _with_article(part: str) -> str:
    is_name = part[:1].isupper() or part.startswith(_ARTICLES)
    return part if is_name else f"the {part}"
