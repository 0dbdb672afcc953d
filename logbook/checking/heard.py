"""What listening heard of doubles, against what the log says about doubling.

A double is a second performance: the same recording again, late or processed, is a copy and no
double. Takes that were rejected and parts that are not in the final version may well be second
performances of a part that was not doubled in the end, so they say nothing against it.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from logbook.checking.problem import CONTRADICTS, MISSING, Problem
from logbook.names import alike
from logbook.records.files import SAME_KINDS, AudioFile, HeardDouble
from logbook.records.log import Log
from logbook.records.parts import Part
from logbook.records.songs import Song, Version

_NOT_USABLE = frozenset({"reject", "false start"})
_WHY_COPY = "a copy is not a double, however late or processed: a double is a second performance"
_WHY_SECOND = "listening found the same notes played twice"


class _Hung(NamedTuple):
    """A file and the part it hangs on; `usable` unless its take was rejected or is unheard."""

    part: Part
    file: AudioFile
    usable: bool


def heard_doubles(log: Log, song: Song) -> Iterator[Problem]:
    """Yield pairs of parts that sound otherwise than the log says."""
    for version in song.versions:
        hung = list(_files(version))
        by_digest: dict[str, list[_Hung]] = {}
        for each in hung:
            by_digest.setdefault(each.file.digest, []).append(each)
        for one in hung:
            for heard in one.file.heard_doubles:
                for other in by_digest.get(heard.other, []):
                    if other.part.name != one.part.name:
                        alike = _alike(log, one.part, other.part)
                        where = f"{song.title}, {version.name}"
                        yield from _pair(where, one, other, heard, alike=alike)


def _files(version: Version) -> Iterator[_Hung]:
    for part in version.parts:
        in_it = part.heard is not False
        for file in part.files:
            yield _Hung(part, file, in_it)
        for take in part.takes:
            for file in take.files:
                yield _Hung(part, file, in_it and take.result not in _NOT_USABLE)


def _pair(
    where: str, one: _Hung, other: _Hung, heard: HeardDouble, *, alike: bool
) -> Iterator[Problem]:
    names = f"{one.part.name} and {other.part.name}"
    files = f"{one.file.path} and {other.file.path}"
    logged = _is_logged(one.part, other.part)
    place = f"{where}, {names}"
    if heard.kind in SAME_KINDS:
        if logged:
            yield Problem(
                "heard doubles",
                place,
                f"{names} are logged as doubles, and {files} are the same recording "
                f"({_how(heard)})",
                _WHY_COPY,
                "record the double, attach its own file to it, or take the double out of the log",
            )
        return
    if not (one.usable and other.usable):
        return
    if heard.kind == "unrelated":
        if logged:
            yield Problem(
                "heard doubles",
                place,
                f"{names} are logged as doubles, and in {files} hardly a note begins together",
                "a double plays the same part again",
                "attach the right files to the two parts, or take the double out of the log",
            )
        return
    if logged or not alike:
        return
    denied = [each.part.name for each in (one, other) if each.part.doubled == "not doubled"]
    spread = (
        "" if heard.median_ms is None else f", half of its notes within {heard.median_ms:.0f} ms"
    )
    denial = (
        f"{' and '.join(denied)} {'is' if len(denied) == 1 else 'are'} said to be not doubled"
        if denied
        else "neither is logged as the double of the other"
    )
    yield Problem(
        "heard doubles",
        place,
        f"{other.file.path} is a second performance of {one.file.path}{spread}, and {denial}",
        _WHY_SECOND,
        f"log {other.part.name} as the double of {one.part.name}, or say that one of the two is "
        "not heard",
        CONTRADICTS if denied else MISSING,
    )


def _is_logged(one: Part, other: Part) -> bool:
    """Whether either of two parts is logged as the double of the other."""
    return any(
        alike(double.part, second.name)
        for first, second in ((one, other), (other, one))
        for double in first.doubles
    )


def _alike(log: Log, one: Part, other: Part) -> bool:
    """Whether two parts may be the same one played twice: not on instruments of two kinds."""
    kinds = {each.name: each.kind for each in log.instruments}
    first, second = kinds.get(one.instrument, ""), kinds.get(other.instrument, "")
    return not (first and second) or alike(first, second)


def _how(heard: HeardDouble) -> str:
    if heard.kind == "delayed":
        return f"{abs(1000 * heard.offset_s):.1f} ms apart"
    return heard.kind
