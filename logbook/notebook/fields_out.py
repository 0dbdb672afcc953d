"""Deliverables, recall and photographs, as both doors say them.

Lines, in clauses: a deliverable is its kind, then `mix`, `rate`, `depth`, `status`, `to`, `on`,
`file` (again for each stem) and `note`; a recall is `DEVICE: SETTINGS`, then `for` and `note`; a
photograph is its path, then `of` and `caption`. A path is kept whole where the folder it counts
from is known.
"""

from __future__ import annotations

import re
from typing import Any

from logbook.errors import LogbookError
from logbook.names import fold
from logbook.notebook import values
from logbook.notebook.clauses import read_clauses, write_clauses
from logbook.notebook.declare import Context, LineForm, Noun, Value, members_of
from logbook.records import Deliverable, Photograph, Recall
from logbook.records.deliverables import STATES, USUAL_KINDS

_DELIVERABLE_FORM = 'write it as in "instrumental; mix 3; rate 48k; depth 24; status ready"'
_DELIVERABLE_WORDS = {
    "mix": "mix",
    "rate": "rate_hz",
    "depth": "depth_bits",
    "status": "status",
    "to": "delivered_to",
    "on": "delivered_on",
    "file": "files",
    "note": "notes",
}
_RECALL_FORM = 'write it as in "small combo: gain 4, treble 6; for the chorus"'
_RECALL_WORDS = {"for": "used_for", "note": "notes"}
_PHOTO_FORM = 'write it as in "photos/combo.jpg; of small combo; caption after the chorus"'
_PHOTO_WORDS = {"of": "device", "caption": "caption"}
_OTHER_NAMES = {
    "acapella": "a cappella",
    "a capella": "a cappella",
    "acappella": "a cappella",
    "tv mix": "TV track",
    "tv": "TV track",
    "stem": "stems",
}
_WHOLE = re.compile(r"(?:[A-Za-z]:)?[/\\]")

_status_word = values.one_of(*STATES)


def _status(value: Value, context: Context) -> str:
    return str(_status_word(value, context)) or "wanted"


def _kind(value: Value, context: Context) -> str:
    body = " ".join(values.name(value, context).split())
    known = {fold(each): each for each in USUAL_KINDS} | _OTHER_NAMES
    return known.get(fold(body), body)


def whole_path(value: Value, context: Context) -> str:
    """Read a path, and put in front of it the folder it counts from, where that is known."""
    body = values.name(value, context).strip()
    if _WHOLE.match(body) or not context.folder:
        return body
    steps = [step for step in body.replace("\\", "/").split("/") if step not in ("", ".")]
    folder = context.folder.rstrip("/")
    while steps[:1] == [".."] and "/" in folder:
        folder, steps = folder.rpartition("/")[0], steps[1:]
    return "/".join([folder, *steps])


_photo_path = whole_path


def _files(value: Value, context: Context) -> tuple[str, ...]:
    paths = values.texts(value, context)
    return tuple(dict.fromkeys(whole_path(path, context) for path in paths if path.strip()))


def _read_deliverable(line: str, context: Context) -> dict[str, Any]:
    head, said = read_clauses(line, _DELIVERABLE_WORDS, _DELIVERABLE_FORM)
    read: dict[str, Any] = {"kind": _kind(head, context)}
    for name, text in said.items():
        if name == "files":
            read[name] = _files([each.strip() for each in text.split(", ")], context)
        else:
            read[name] = DELIVERABLE.field_of(name).read(text, context)
    return read


def _write_deliverable(each: Deliverable, context: Context) -> str | None:
    said = {
        "mix": each.mix,
        "rate": str(each.rate_hz or ""),
        "depth": str(each.depth_bits or ""),
        "status": each.status,
        "to": each.delivered_to,
        "on": each.delivered_on,
        "file": ", ".join(each.files),
        "note": each.notes,
    }
    return write_clauses(each.kind, said)


def _read_recall(line: str, context: Context) -> dict[str, Any]:
    head, said = read_clauses(line, _RECALL_WORDS, _RECALL_FORM)
    device, colon, settings = head.partition(":")
    if not colon:
        raise LogbookError(f"{values.shown(head)} does not say what is set, and how", _RECALL_FORM)
    read = {
        "device": values.name(device.strip(), context),
        "settings": values.text(settings.strip(), context),
    }
    return read | {name: values.text(text, context) for name, text in said.items()}


def _write_recall(each: Recall, context: Context) -> str | None:
    said = {"for": each.used_for, "note": each.notes}
    return write_clauses(f"{each.device}: {each.settings}", said)


def _read_photograph(line: str, context: Context) -> dict[str, Any]:
    head, said = read_clauses(line, _PHOTO_WORDS, _PHOTO_FORM)
    read = {"path": whole_path(head, context)}
    return read | {name: values.text(text, context) for name, text in said.items()}


def _write_photograph(each: Photograph, context: Context) -> str | None:
    return write_clauses(each.path, {"of": each.device, "caption": each.caption})


DELIVERABLE = Noun(
    word="deliverable",
    called=lambda each: f"{each.kind}, mix {each.mix}" if each.mix else each.kind,
    plural="deliverables",
    record=Deliverable,
    key=("kind", "mix"),
    needs=("kind",),
    help="something of a version that goes out: master, instrumental, stems ...",
    members=members_of(Deliverable, __name__),
    line=LineForm(
        read=_read_deliverable,
        write=_write_deliverable,
        form="KIND; mix N; rate HZ; depth BITS; status WORD; to NAME; on DAY; file PATH; note TEXT",
        example="instrumental; mix 3; rate 48k; depth 24; status ready",
    ),
)

RECALL = Noun(
    word="recall",
    called=lambda each: f"{each.device} for {each.used_for}" if each.used_for else each.device,
    plural="recalls",
    record=Recall,
    key=("device", "used_for"),
    needs=("device",),
    help="how an amplifier, pedal or preamp was set for a part or a session",
    members=members_of(Recall, __name__),
    line=LineForm(
        read=_read_recall,
        write=_write_recall,
        form="DEVICE: SETTINGS; for TEXT; note TEXT",
        example="small combo: gain 4, treble 6; for solo",
    ),
)

PHOTOGRAPH = Noun(
    word="photograph",
    called=lambda each: each.path.replace("\\", "/").rpartition("/")[2],
    plural="photographs",
    record=Photograph,
    key=("path",),
    help="a photograph of how something was set up, kept by its digest",
    members=members_of(Photograph, __name__),
    line=LineForm(
        read=_read_photograph,
        write=_write_photograph,
        form="PATH; of TEXT; caption TEXT",
        example="photos/combo.jpg; of small combo",
    ),
)
