"""Where a part does not play: the sections and bars it says it is silent in (tacet)."""

from __future__ import annotations

import re
from collections.abc import Iterable

from logbook.errors import LogbookError
from logbook.names import alike
from logbook.records.parts import Part
from logbook.records.songs import FormSection, Version
from logbook.timing.bars import BarRange, bars, parse_range

_BARS = re.compile(r"(?:bars?\s*)?(?P<bars>\d[\d.+/]*(?:\s*[-–]\s*\d[\d.+/]*)?)", re.I)
_NTH = re.compile(r"(?P<name>.*[^\d\s])\s*(?P<nth>\d{1,3})", re.S)


def silent_ranges(text: str, form: Iterable[FormSection]) -> tuple[BarRange, ...]:
    """Return the bars that one place means: "33-40", "verse" (each of them), "verse 2".

    Raises LogbookError where the form has no such section.
    """
    body = text.strip()
    if found := _BARS.fullmatch(body):
        return (parse_range("".join(found["bars"].split()).replace("–", "-")),)
    ordered = sorted(form, key=lambda each: each.start)
    same = [each for each in ordered if alike(each.name, body)]
    if not same and (nth := _NTH.fullmatch(body)):
        named = [each for each in ordered if alike(each.name, nth["name"])]
        same = named[int(nth["nth"]) - 1 : int(nth["nth"])] if int(nth["nth"]) else []
    if not same:
        names = ", ".join(dict.fromkeys(each.name for each in ordered))
        raise LogbookError(
            f"'{body}' is neither a range of bars nor a section of the form",
            f"the form has {names}" if names else "write bars, as in 33-40",
        )
    return tuple(bars(each.start, each.start + each.bars - 1) for each in same)


def places_of(part: Part) -> tuple[str, ...]:
    """What the part names as silent, each place by itself."""
    return tuple(each.strip() for each in part.tacet.split(",") if each.strip())


def silent_bars(version: Version, part: Part) -> frozenset[int]:
    """The whole bars in which a part says it does not play; places that cannot be read are none."""
    found: set[int] = set()
    for place in places_of(part):
        try:
            ranges = silent_ranges(place, version.form)
        except LogbookError:
            continue
        for each in ranges:
            found.update(each.bars)
    return frozenset(found)
