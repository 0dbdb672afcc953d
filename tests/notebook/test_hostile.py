"""Whatever a session file holds, it is read or refused in plain words."""

from __future__ import annotations

import random
import tomllib
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from logbook.notebook.nouns import LOG, NOUNS
from logbook.notebook.problems import NotebookError
from logbook.notebook.read import read_log
from logbook.notebook.toml_text import Tables, write_document
from tests.notebook.test_session_file import documented

_lines = st.text(
    st.characters(exclude_categories=["Cs"], exclude_characters="\0"), max_size=20
) | st.sampled_from(
    ["1-8 take 2", "C:", "verse: Am", "1/2", "x 0 2", "%", "33-36 >84", "1 keeper; punch", "😀", "؜"]
)
_scalars = _lines | st.integers() | st.booleans() | st.floats(allow_nan=True)
_values = st.recursive(
    _scalars,
    lambda inner: (
        st.lists(inner, max_size=3)
        | st.dictionaries(
            st.sampled_from(sorted(set().union(*(noun.keys() for noun in NOUNS.values())))),
            inner,
            max_size=4,
        )
    ),
    max_leaves=12,
)


def told(text: str) -> tuple[str, ...]:
    """What reading a text says is wrong with it; nothing but sentences may come."""
    try:
        read_log(text)
    except NotebookError as error:
        return error.sentences
    return ()


def _toml_safe(value: Any) -> Any:
    if isinstance(value, float) and (value != value or value in (float("inf"), float("-inf"))):
        return 0.5
    if isinstance(value, dict):
        return {key: _toml_safe(each) for key, each in value.items()}
    return [_toml_safe(each) for each in value] if isinstance(value, list) else value


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.dictionaries(st.sampled_from(LOG.keys()), _values, max_size=3))
def test_any_tables_are_read_or_refused(document: dict[str, Any]) -> None:
    plain = {
        key: [_toml_safe(value)] if isinstance(value, dict) else _toml_safe(value)
        for key, value in document.items()
    }
    text = write_document(plain)
    assert tomllib.loads(text) == plain
    assert all("line " in each for each in told(text))


@settings(max_examples=100, deadline=None)
@given(st.text(max_size=60))
def test_any_text_is_read_or_refused(text: str) -> None:
    assert all(told(text))


@pytest.mark.parametrize("seed", range(60))
def test_a_file_with_a_few_letters_wrong(seed: int) -> None:
    dice = random.Random(seed)
    letters = list(documented()[0])
    for _ in range(dice.randint(1, 4)):
        at = dice.randrange(len(letters))
        letters[at] = dice.choice(
            ['"', "[", "]", "=", "\n", "9", "-", "|", ";", "", "x", "{", "\0"]
        )
    assert all("line " in each for each in told("".join(letters)))


def test_deep_nesting_is_refused_in_plain_words() -> None:
    with pytest.raises(NotebookError, match=r"nested too deeply|not TOML"):
        read_log("x = " + "[" * 5000 + "]" * 5000)


def test_names_of_every_kind_survive() -> None:
    names = [
        '"quoted"',
        "new\nline",
        "\x1b[31mred",
        "‮rtl",
        "😀" * 10,
        "n" * 10_000,
        "it's",
        "a.b",
        "=",
    ]
    text = write_document({"people": Tables({"name": name} for name in names)})
    assert [each.name for each in read_log(text).people] == names
    assert text.replace("\n", "").isprintable()
