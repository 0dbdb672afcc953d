"""What is heard in the finished version, and which sessions it came from.

A part says itself whether it is heard. Where it does not, a final comp or a take kept as the
keeper says so: somebody finished the part. Otherwise nobody said, and that is not the same as no.
"""

from __future__ import annotations

from logbook.records.context import counting_comp
from logbook.records.parts import Part, Take
from logbook.records.songs import Version

_BEST_FIRST = ("keeper", "complete")


def part_is_heard(part: Part) -> bool | None:
    """Return whether the part is in the final version; None when the log does not say."""
    if part.heard is not None:
        return part.heard
    finished = any(comp.final and comp.pieces for comp in part.comps)
    return True if finished or any(take.result == "keeper" for take in part.takes) else None


def sessions_of(version: Version) -> dict[str, bool]:
    """Return each session that recorded something for the version, and whether it is heard.

    A session counts as heard when takes of it are in a part that is heard, or that may be.
    """
    heard: dict[str, bool] = {}
    for part in version.parts:
        used = set() if part_is_heard(part) is False else _sessions_used(part)
        for take in part.takes:
            heard[take.session] = heard.get(take.session, False) or take.session in used
        for overdub in part.overdubs:
            over = part_is_heard(part) is not False
            heard[overdub.session] = heard.get(overdub.session, False) or over
    heard.pop("", None)
    return heard


def _sessions_used(part: Part) -> set[str]:
    """Return the sessions whose takes of this part are in its comp, or else those of the best."""
    comp = counting_comp(part)
    if comp is None or not comp.pieces:
        return {take.session for take in _best(part.takes)}
    used = {(piece.take, piece.session) for piece in comp.pieces if not piece.is_elsewhere}
    return {
        take.session
        for take in part.takes
        if (take.number, take.session) in used or (take.number, "") in used
    }


def _best(takes: tuple[Take, ...]) -> tuple[Take, ...]:
    """Return the keepers, or else the complete takes, or else all."""
    for result in _BEST_FIRST:
        if found := tuple(take for take in takes if take.result == result):
            return found
    return takes
