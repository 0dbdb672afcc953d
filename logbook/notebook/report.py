"""What loading a file added, changed and left, in words and as data."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, fields
from typing import Any

from logbook.notebook.declare import Noun, Record
from logbook.notebook.nouns import NOUNS
from logbook.notebook.read import Mention


@dataclass(frozen=True, kw_only=True)
class ReportedChange:
    """One field, from what to what, as a person reads it."""

    field: str
    old: str
    new: str


@dataclass(frozen=True, kw_only=True)
class Report:
    """Every record a file speaks of, by what became of it."""

    added: tuple[Mention, ...]
    changed: tuple[tuple[Mention, tuple[ReportedChange, ...]], ...]
    left: tuple[Mention, ...]

    def lines(self) -> list[str]:
        """Return what a person is told."""
        return _all_lines(_added_lines(self.added), self.changed_lines(), len(self.left))

    def changed_lines(self) -> list[str]:
        """Return a line for each record that was changed."""
        lines = []
        for mention, changes in self.changed:
            words = "; ".join(f"{each.field} {each.old} -> {each.new}" for each in changes)
            lines.append(f"changed {_named(mention)}: {words}")
        return lines

    def data(self) -> dict[str, Any]:
        """Return the same as data."""
        return {
            "added": [{"noun": each.noun, "place": list(each.place)} for each in self.added],
            "changed": [
                {
                    "noun": each.noun,
                    "place": list(each.place),
                    "fields": {one.field: {"old": one.old, "new": one.new} for one in fields},
                }
                for each, fields in self.changed
            ],
            "left": [{"noun": each.noun, "place": list(each.place)} for each in self.left],
        }


class Reports:
    """What the pieces of a large file added, changed and left, without the records themselves."""

    def __init__(self, *, with_data: bool = False) -> None:
        self._added: list[str] = []
        self._changed: list[str] = []
        self._left = 0
        self._data: dict[str, Any] | None = None
        if with_data:
            self._data = {"added": [], "changed": [], "left": []}

    def take_in(self, piece: Report) -> None:
        """Take in what one piece did."""
        self._added += _added_lines(piece.added)
        self._changed += piece.changed_lines()
        self._left += len(piece.left)
        if self._data is not None:
            for key, items in piece.data().items():
                self._data[key] += items

    def lines(self) -> list[str]:
        """Return what a person is told, as `Report.lines` does."""
        return _all_lines(self._added, self._changed, self._left)

    def data(self) -> dict[str, Any]:
        """Return the same as data, if it was asked for."""
        return self._data or {}


def _all_lines(added: list[str], changed: list[str], left: int) -> list[str]:
    lines = [*added, *changed]
    if not lines:
        lines.append("nothing to add or change")
    if left:
        lines.append(f"left {left} as {'it was' if left == 1 else 'they were'}")
    return lines


def report(mentions: Sequence[Mention]) -> Report:
    """Sort mentions into added, changed and left."""
    added, changed, left = [], [], []
    for each in mentions:
        if each.old is None:
            added.append(each)
            continue
        fields = field_changes(NOUNS[each.noun], each.old, each.new)
        if fields:
            changed.append((each, fields))
        else:
            left.append(each)
    return Report(added=tuple(added), changed=tuple(changed), left=tuple(left))


def field_changes(noun: Noun, old: Record, new: Record) -> tuple[ReportedChange, ...]:
    """Return what differs between two records of a noun, apart from what stands inside them."""
    changes = []
    for each in noun.fields:
        for name in each.attributes:
            before, after = getattr(old, name), getattr(new, name)
            if before != after:
                changes.append(
                    ReportedChange(field=each.key, old=_value(before), new=_value(after))
                )
    for collection in noun.collections:
        before, after = getattr(old, collection.attribute), getattr(new, collection.attribute)
        if collection.whole and before != after:
            gone = [_brief(each) for each in before if each not in after]
            come = [_brief(each) for each in after if each not in before]
            if not gone and not come:
                gone, come = ["in one order"], ["in another"]
            changes.append(
                ReportedChange(field=collection.keys[0], old=_listed(gone), new=_listed(come))
            )
    return tuple(changes)


def _value(value: Any) -> str:
    if value is None or value == "":
        return "nothing"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, tuple):
        return ", ".join(map(str, value)) or "nothing"
    text = str(value)
    return text if len(text) <= 60 else text[:57] + "..."


def _brief(record: Record) -> str:
    words = (getattr(record, each.name) for each in fields(record))
    return " ".join(str(each) for each in words if each not in ("", None, False, ()))


def _listed(texts: list[str]) -> str:
    if not texts:
        return "nothing"
    shown = ", ".join(_value(each) for each in texts[:3])
    return shown if len(texts) <= 3 else f"{shown} and {len(texts) - 3} more"


def _named(mention: Mention) -> str:
    name = mention.place[-1]
    noun = "" if name.startswith(f"{mention.noun} ") else f"{mention.noun} "
    above = " / ".join(mention.place[:-1])
    return f"{noun}{name} ({above})" if above else f"{noun}{name}"


def _added_lines(added: Sequence[Mention]) -> list[str]:
    """A line for each new thing, with how much came in with it."""
    places = {each.place for each in added}
    tops: dict[tuple[str, ...], list[Mention]] = {}
    for each in added:
        above = [each.place[:end] for end in range(1, len(each.place))]
        top = next((place for place in above if place in places), None)
        tops.setdefault(top if top is not None else each.place, []).append(each)
    lines = []
    under: dict[tuple[str, ...], Counter[str]] = {}
    for place, several in tops.items():
        first = next((each for each in several if each.place == place), None)
        if first is not None and (len(place) == 1 or first.noun in {"version", "part"}):
            inside = Counter(each.noun for each in several if each is not first)
            held = f": {_counts(inside)}" if inside else ""
            lines.append(f"added {_named(first)}{held}")
        else:
            under.setdefault(place[:-1], Counter()).update(each.noun for each in several)
    for place, counts in under.items():
        lines.append(f"added to {' / '.join(place)}: {_counts(counts)}")
    return lines


def _counts(counts: Counter[str]) -> str:
    return ", ".join(
        f"{count} {noun if count == 1 else NOUNS[noun].plural}" for noun, count in counts.items()
    )
