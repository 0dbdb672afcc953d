"""What a session file may say, from the records' own declarations: a page of it and a JSON schema.

The schema is of the TOML's tables as JSON (JSON Schema, draft 2020-12), for editors that complete
keys. It knows keys and kinds, not the grammar of lines: what it lets pass may still be refused.
"""

from __future__ import annotations

from typing import Any

from logbook.notebook.declare import Collection, Field, Noun
from logbook.notebook.nouns import LOG, NOUNS

_TEXTUAL = {"type": ["string", "number", "integer", "boolean"]}


def json_schema() -> dict[str, Any]:
    """Return the JSON schema of a session file."""
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "session file",
        **_table(LOG),
        "$defs": {noun.word: _item(noun) for noun in NOUNS.values()},
    }


def _item(noun: Noun) -> dict[str, Any]:
    table = _table(noun)
    if noun.key:
        return {"description": noun.help, "anyOf": [table, _TEXTUAL]}
    return {"description": noun.help, "anyOf": [table, _TEXTUAL, {"type": "array"}]}


def _table(noun: Noun) -> dict[str, Any]:
    properties: dict[str, Any] = {"as_logged": {"const": True}}
    for each in noun.members:
        if isinstance(each, Field):
            properties[each.key] = _value(each)
        else:
            properties |= dict.fromkeys(each.keys, _held(each))
    return {"type": "object", "properties": properties, "additionalProperties": False}


def _value(each: Field) -> dict[str, Any]:
    about = {"description": each.help, "examples": [each.example]}
    if each.flag:
        return {**about, "type": ["boolean", "string"]}
    if each.many:
        return {**about, "anyOf": [_TEXTUAL, {"type": "array"}]}
    return {**about, "type": [*_TEXTUAL["type"], "object"]}


def _held(each: Collection) -> dict[str, Any]:
    one = {"$ref": f"#/$defs/{each.noun}"}
    many = {"type": "array", "items": one}
    named = {"type": "object", "additionalProperties": {"anyOf": [one, many]}}
    forms = [one, many, *([named] if each.labelled or each.grouped or each.unpack else [])]
    return {"anyOf": forms}


def fields_page() -> str:
    """Return the page of everything a session file and the commands may say, as Markdown."""
    lines = [
        "# Every field",
        "",
        "Made by `python docs/make_fields.py` from the records themselves; do not edit. A field's",
        "key is the same in a session file and, with dashes, as a command's option: `full_name` is",
        "`--full-name`. What each line form means stands in [session-file.md](session-file.md).",
    ]
    for noun in (*NOUNS.values(),):
        lines += ["", f"## {noun.word}", "", f"{noun.help[:1].upper()}{noun.help[1:]}."]
        if noun.line is not None:
            lines += ["", f"As a line: {noun.line.form}, as in `{noun.line.example}`."]
        lines += ["", "| key | what it is | example |", "| --- | --- | --- |"]
        for each in noun.members:
            if isinstance(each, Field):
                needed = " (needed)" if set(each.attributes) & set(noun.needed) else ""
                cells = (f"`{each.key}`", f"{each.help}{needed}", f"`{each.example}`")
            else:
                keys = ", ".join(f"`{key}`" for key in each.keys)
                cells = (keys, f"its {NOUNS[each.noun].plural}", "")
            lines.append("| " + " | ".join(cell.replace("|", "\\|") for cell in cells) + " |")
    return "\n".join(lines) + "\n"
