"""The examples of docs/library.md are run, and what the page names is exported from its room."""

from __future__ import annotations

import doctest
import re
from pathlib import Path

import logbook.strings
import logbook.theory

PAGE = Path(__file__).parents[1] / "docs" / "library.md"


def test_the_examples_of_the_page_are_right() -> None:
    tests = doctest.DocTestParser().get_doctest(PAGE.read_text(), {}, "library", str(PAGE), 0)
    assert len(tests.examples) > 30
    said: list[str] = []
    runner = doctest.DocTestRunner(optionflags=doctest.NORMALIZE_WHITESPACE)
    runner.run(tests, out=said.append)
    assert runner.summarize(verbose=False).failed == 0, "".join(said)


def test_the_rooms_export_what_the_page_imports() -> None:
    for room in (logbook.strings, logbook.theory):
        imported = re.findall(rf"from {room.__name__} import (.+)", PAGE.read_text())
        names = {name.strip() for line in imported for name in line.split(",")}
        assert names
        assert names <= set(room.__all__)
        assert all(callable(getattr(room, name)) for name in names)


def test_the_capo_table_is_the_function_whatever_is_loaded_first() -> None:
    import logbook.strings.capo_table as loaded
    from logbook.strings import capo_table

    assert callable(capo_table)
    assert loaded is not None
