"""The pure rooms answer as people last read it, question by question."""

from __future__ import annotations

import pytest

from tests.golden import answers


@pytest.mark.parametrize("name", answers.ASKED)
def test_the_answers_are_as_they_were_read(name: str) -> None:
    kept = (answers.FOLDER / f"{name}.txt").read_text(encoding="utf-8")
    assert answers.answered(name).splitlines() == kept.splitlines(), (
        "an answer has changed; run python tests/golden/answers.py and read the difference"
    )


def test_every_file_of_answers_is_asked() -> None:
    assert {path.stem for path in answers.FOLDER.glob("*.txt")} == set(answers.ASKED)
