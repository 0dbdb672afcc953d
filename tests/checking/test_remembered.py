"""Findings that were kept as text are the findings that were found."""

from __future__ import annotations

import os
from pathlib import Path

from hypothesis import given
from hypothesis import strategies as st

from logbook import checking
from logbook.checking import Problem
from logbook.checking.remembered import from_text, rules_name, to_text


@given(st.lists(st.lists(st.text(), min_size=len(Problem._fields), max_size=len(Problem._fields))))
def test_there_and_back(fields: list[list[str]]) -> None:
    problems = tuple(Problem(*each) for each in fields)
    assert from_text(to_text(problems)) == problems


def test_another_module_is_another_set_of_rules() -> None:
    before = rules_name()
    assert rules_name() == before
    module = Path(str(checking.__file__)).with_name("problem.py")
    seen = module.stat()
    os.utime(module, ns=(seen.st_atime_ns, seen.st_mtime_ns + 1_000_000))
    try:
        assert rules_name() != before
    finally:
        os.utime(module, ns=(seen.st_atime_ns, seen.st_mtime_ns))
    assert rules_name() == before
