"""Sections that are played several times alike, as MusicXML repeats.

Conventions. A section is written once, between repeat signs, where every part plays the same in
every pass, and neither key, meter nor tempo changes in the later ones; else its passes are written
out. Bars keep their numbers in the arrangement, so those of later passes are passed over. The
number of passes stands in the closing sign and, above two, in words.

Source: MusicXML 4.0 (W3C Music Notation Community Group), elements barline and repeat, from memory.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple
from xml.etree import ElementTree

from logbook.arranging.form import ArrangedForm

Element = ElementTree.Element
_sub = ElementTree.SubElement
_PLAYED = ("note", "harmony", "backup")


class _Group(NamedTuple):
    """A section's passes: the first bar, how many bars a pass has, and how many passes."""

    start: int
    bars: int
    times: int


def fold_repeats(root: Element, form: ArrangedForm) -> None:
    """Write the sections of a score once that every part plays alike each time."""
    parts = [{measure.get("number"): measure for measure in part} for part in root.findall("part")]
    for group in _groups(form):
        if all(_is_alike(part, group) for part in parts):
            for place, part in enumerate(root.findall("part")):
                _fold(part, parts[place], group, is_first=place == 0)


def _groups(form: ArrangedForm) -> Iterator[_Group]:
    for passage in form.passages:
        if passage.number == 1 and passage.times > 1 and passage.bars:
            yield _Group(passage.start, passage.bars, passage.times)


def _is_alike(part: dict[str | None, Element], group: _Group) -> bool:
    for bar in range(group.start, group.start + group.bars):
        first = part.get(str(bar))
        for number in range(1, group.times):
            other = part.get(str(bar + number * group.bars))
            if first is None or other is None or _changes(other):
                return False
            if _heard(first) != _heard(other):
                return False
    return True


def _changes(measure: Element) -> bool:
    """Whether key, meter or tempo change in a bar."""
    found = (measure.find(path) for path in ("attributes/key", "attributes/time", "sound"))
    return any(each is not None for each in found) or any(
        each.find("sound") is not None for each in measure.findall("direction")
    )


def _heard(measure: Element) -> Sequence[str]:
    return [
        "".join(ElementTree.tostring(child, encoding="unicode").split())
        for child in measure
        if child.tag in _PLAYED
    ]


def _fold(
    part: Element, measures: dict[str | None, Element], group: _Group, *, is_first: bool
) -> None:
    first = measures[str(group.start)]
    last = measures[str(group.start + group.bars - 1)]
    end = measures[str(group.start + group.bars * group.times - 1)]
    ends_song = end is part[-1]
    closing = end.find("barline[@location='right']")
    for bar in range(group.start + group.bars, group.start + group.bars * group.times):
        part.remove(measures[str(bar)])
    if is_first:
        mark = first.find("direction/direction-type/rehearsal")
        if mark is not None and mark.text:
            mark.text = mark.text.partition(f" (1 of {group.times})")[0]
        if group.times > 2:
            direction = Element("direction", placement="above")
            _sub(_sub(direction, "direction-type"), "words").text = f"{group.times} times"
            last.insert(0, direction)
    opening = Element("barline", location="left")
    _sub(opening, "bar-style").text = "heavy-light"
    _sub(opening, "repeat", direction="forward")
    first.insert(0, opening)
    back = last.find("barline[@location='right']")
    if back is None:
        back = _sub(last, "barline", location="right")
    for child in list(back):
        back.remove(child)
    _sub(back, "bar-style").text = "light-heavy"
    if ends_song and closing is not None and closing.find("fermata") is not None:
        _sub(back, "fermata")
    _sub(back, "repeat", direction="backward", times=str(group.times))
