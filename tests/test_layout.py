"""One word for a thing: no two classes of the program have the same name."""

from __future__ import annotations

import re
from collections import defaultdict
from pathlib import Path

PROGRAM = Path(__file__).parent.parent / "logbook"


def test_each_class_has_a_name_of_its_own() -> None:
    places: dict[str, list[str]] = defaultdict(list)
    for path in sorted(PROGRAM.rglob("*.py")):
        for name in re.findall(r"^ *class (\w+)[(:]", path.read_text(encoding="utf-8"), re.M):
            places[name].append(path.relative_to(PROGRAM).as_posix())
    assert len(places) > 400
    assert {name: stands for name, stands in places.items() if len(stands) > 1} == {}
