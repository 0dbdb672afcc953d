"""Small turns of phrase the told comp, the bar map and the take list share."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from logbook.editing.surveyed import TakeShare
from logbook.editing.takes import FINISHED, TakeId, TakeSpan
from logbook.timing.bars import BarRange

_NUMBERS = (
    *("no", "one", "two", "three", "four", "five", "six"),
    *("seven", "eight", "nine", "ten", "eleven", "twelve"),
)


def number_word(count: int) -> str:
    """A small count in words: "one", "two"; figures above twelve."""
    return _NUMBERS[count] if count < len(_NUMBERS) else str(count)


def listed(items: Sequence[str]) -> str:
    """Items as said: "2", "2 and 5", "2, 3 and 5"."""
    if len(items) < 2:
        return "".join(items)
    return f"{', '.join(items[:-1])} and {items[-1]}"


def bars_said(ranges: Sequence[BarRange]) -> str:
    """Ranges with the word before them: "bar 12", "bars 9-16", "bars 12 and 30-31"."""
    word = "bar" if len(ranges) == 1 and str(ranges[0]).isdecimal() else "bars"
    return f"{word} {listed([str(each) for each in ranges])}"


def share_said(share: TakeShare) -> str:
    """How much of the finished part a take makes up: "8 bars, 50 %", "10 2/3 bars, 33.3 %"."""
    whole, rest = divmod(share.bars, 1)
    count = f"{whole} {rest}" if whole and rest else str(share.bars)
    percent = f"{float(share.share * 100):.1f}".removesuffix(".0")
    return f"{count} {'bar' if share.bars <= 1 else 'bars'}, {percent} %"


def take_said(take_id: TakeId, takes: Iterable[TakeSpan]) -> str:
    """A take as said, "2" or "2 of Saturday": with its session only where the number is shared.

    One that lies elsewhere is said so: "2 of album", "mix of album".
    """
    if take_id.is_elsewhere:
        where = " ".join(filter(None, [take_id.version, take_id.part]))
        said = take_id.file or str(take_id.number)
        said += f" of {take_id.session}" if take_id.session else ""
        return f"{said} of {where}" if where else said
    shared = sum(take.number == take_id.number and not take.id.is_elsewhere for take in takes) > 1
    if take_id.session and shared:
        return f"{take_id.number} of {take_id.session}"
    return str(take_id.number)


def takes_said(take_ids: Iterable[TakeId], takes: Sequence[TakeSpan]) -> str:
    """Takes with the word before them: "take 2", "takes 2 and 5", "take 2 and the mix of album"."""
    ids = sorted(set(take_ids))
    names = [take_said(each, takes) for each in ids if not each.file]
    said = [f"{'take' if len(names) == 1 else 'takes'} {listed(names)}"] if names else []
    return listed([*said, *(named(each, takes) for each in ids if each.file)])


def named(take_id: TakeId, takes: Iterable[TakeSpan] = ()) -> str:
    """What a piece comes from, with the word before it: "take 2", "the mix of album"."""
    if not take_id.file:
        return f"take {take_said(take_id, takes) if takes or take_id.is_elsewhere else take_id}"
    return f"the {'' if take_id.file in FINISHED else 'file '}{take_said(take_id, takes)}"
