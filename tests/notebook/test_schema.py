"""The page of all fields and the JSON schema are today's, and the sample keeps to the schema."""

from __future__ import annotations

import json
import tomllib
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from logbook.notebook.schema import fields_page, json_schema

ROOT = Path(__file__).parents[2]


def test_the_page_and_the_schema_are_as_the_records_declare() -> None:
    remedy = "run python docs/make_fields.py"
    assert (ROOT / "docs" / "fields.md").read_text(encoding="utf-8") == fields_page(), remedy
    written = (ROOT / "docs" / "session-file.schema.json").read_text(encoding="utf-8")
    assert json.loads(written) == json_schema(), remedy


@cache
def validator() -> Any:
    kind = pytest.importorskip("jsonschema").Draft202012Validator
    kind.check_schema(json_schema())
    return kind(json_schema())


def wrong(document: Any) -> list[str]:
    """What a JSON schema validator says of a document (python-jsonschema, an outside check)."""
    plain = json.loads(json.dumps(document, default=str))
    return [each.message for each in validator().iter_errors(plain)]


@pytest.mark.parametrize("name", ["sample_session/session.toml", "tests/frozen/session-0008.toml"])
def test_whole_session_files_keep_to_the_schema(name: str) -> None:
    assert wrong(tomllib.loads((ROOT / name).read_text(encoding="utf-8"))) == []


@pytest.mark.parametrize(
    "text",
    ['titel = "x"', '[[song]]\ntitel = "x"', '[[song]]\ntitle = "x"\n[[song.version]]\nnaem = "y"'],
)
def test_a_key_that_is_none_is_found(text: str) -> None:
    assert wrong(tomllib.loads(text))
