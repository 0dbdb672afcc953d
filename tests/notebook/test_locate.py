"""The locator finds the line of every key, whatever shape the TOML has."""

from __future__ import annotations

import json
import tomllib

from hypothesis import given
from hypothesis import strategies as st

from logbook.notebook.locate import locate, nearest_line


def test_headers_arrays_and_values():
    text = (
        "# a comment with [brackets]\n"
        'title = "x"\n'
        "\n"
        "[[song]]\n"
        'title = "One" # said\n'
        "  [[song.version]]\n"
        '  name = "album"\n'
        "  [song.version.extra]\n"
        "  a.b = 1\n"
        "[[song]]\n"
        "[[song.version]]\n"
        "form = [\n"
        '  "intro 1-4",\n'
        "  # nothing here\n"
        '  "verse 5-12", "out ] 13-14",\n'
        "]\n"
        "take = { number = 1, notes = '}' }\n"
    )
    lines = locate(text)
    assert lines[("title",)] == 2
    assert lines[("song", 0)] == 4
    assert lines[("song", 0, "title")] == 5
    assert lines[("song", 0, "version", 0, "name")] == 7
    assert lines[("song", 0, "version", 0, "extra", "a", "b")] == 9
    assert lines[("song", 1)] == 10
    assert lines[("song", 1, "version", 0)] == 11
    assert lines[("song", 1, "version", 0, "form", 0)] == 13
    assert lines[("song", 1, "version", 0, "form", 1)] == 15
    assert lines[("song", 1, "version", 0, "form", 2)] == 15
    assert lines[("song", 1, "version", 0, "take", "notes")] == 17


def test_strings_of_all_four_kinds():
    text = (
        'a = """\n[x]\ny = "1"\n\\""" and """"\n'
        "b = '''\nit's\n'''''\n"
        'c = "\\"#"\n'
        "d = '\\'\n"
        '"quoted \\u0041.key" = 1\n'
        "'single' . two = 2\n"
    )
    tomllib.loads(text)
    lines = locate(text)
    assert [lines[(key,)] for key in "abcd"] == [1, 5, 8, 9]
    assert lines[("quoted A.key",)] == 10
    assert lines[("single", "two")] == 11


def test_windows_line_ends_count_once():
    assert locate("a = 1\r\nb = '''\r\n\r\n'''\r\nc = 3\r\n")[("c",)] == 5


def test_nearest_line_falls_back_to_the_table_around():
    lines = locate("\n[[song]]\ntitle = 'x'\n")
    assert nearest_line(lines, ("song", 0, "iswc")) == 2
    assert nearest_line(lines, ("nothing",)) == 1


def _paths(value: object, path: tuple[str | int, ...] = ()) -> list[tuple[str | int, ...]]:
    found = [path] if path else []
    if isinstance(value, dict):
        for key, inner in value.items():
            found += _paths(inner, (*path, key))
    elif isinstance(value, list):
        for index, inner in enumerate(value):
            found += _paths(inner, (*path, index))
    return found


_texts = st.text(
    st.characters(exclude_categories=["Cs"], exclude_characters="\x7f"), max_size=8
) | st.sampled_from(['"""', "'''", "#", "]", "}", "\\", "a\nb", "= 1", "[[x]]"])
_keys = _texts | st.sampled_from(["a", "b", "c-d", "1"])
_scalars = _texts | st.integers() | st.booleans() | st.floats(allow_nan=False, allow_infinity=False)
_inline = st.recursive(
    _scalars,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(_keys, inner, max_size=3),
    max_leaves=6,
)


@st.composite
def _marked_documents(draw: st.DrawFn) -> tuple[str, dict[tuple[str | int, ...], int]]:
    """A TOML text, and the line of every key as it was written down."""
    chunks: list[str] = []
    expected: dict[tuple[str | int, ...], int] = {}

    def line() -> int:
        return "".join(chunks).count("\n") + 1

    def string(text: str) -> str:
        plain = "'''" not in text and text.replace("\n", "").isprintable()
        if "\n" in text and plain and not text.endswith("'"):
            return f"'''\n{text}'''"
        return json.dumps(text, ensure_ascii=False)

    def value(item: object, path: tuple[str | int, ...]) -> None:
        if isinstance(item, bool):
            chunks.append(str(item).lower())
        elif isinstance(item, str):
            chunks.append(string(item))
        elif isinstance(item, list):
            chunks.append("[")
            for index, inner in enumerate(item):
                chunks.append(draw(st.sampled_from(["", " ", "\n", " # ]\n"])))
                expected[(*path, index)] = line()
                value(inner, (*path, index))
                chunks.append(", ")
            chunks.append("]")
        elif isinstance(item, dict):
            chunks.append("{")
            for place, (key, inner) in enumerate(item.items()):
                chunks.append(", " if place else " ")
                expected[(*path, key)] = line()
                chunks.append(f"{json.dumps(key, ensure_ascii=False)} = ")
                value(inner, (*path, key))
            chunks.append("}")
        else:
            chunks.append(str(item))

    for index in range(draw(st.integers(1, 3))):
        chunks.append(draw(st.sampled_from(["", "\n", "# [[song]]\n"])))
        expected.setdefault(("song",), line())
        expected[("song", index)] = line()
        chunks.append("[[song]]\n")
        for key, item in draw(st.dictionaries(_keys, _inline, max_size=3)).items():
            if key == "part":
                continue
            expected[("song", index, key)] = line()
            chunks.append(f"{json.dumps(key, ensure_ascii=False)} = ")
            value(item, ("song", index, key))
            chunks.append("\n")
        expected[("song", index, "part")] = line()
        chunks.append("[song . part]\n")
        expected[("song", index, "part", "name")] = line()
        chunks.append("name = 1 # done\n")
    return "".join(chunks), expected


@given(_marked_documents())
def test_every_path_of_any_document_has_its_line(document):
    text, expected = document
    lines = locate(text)
    assert lines == expected
    assert set(_paths(tomllib.loads(text))) == set(expected)
