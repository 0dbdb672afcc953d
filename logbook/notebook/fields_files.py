"""Audio files, as both doors say them.

A file's line is its path inside the session folder, with forward strokes; paths that begin at
the root or lead out of the folder are refused. Everything else is what the importer reads from
the file; a dump carries it, and a person need not type it.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from pathlib import PurePath
from typing import Any

from logbook.errors import LogbookError
from logbook.notebook import values
from logbook.notebook.clauses import read_clauses, write_clauses
from logbook.notebook.declare import Context, LineForm, Noun, Value, members_of
from logbook.records import AudioFile, Cue, FileCopy, HeardChord, HeardDouble, Measurement
from logbook.records.files import HEARD_KINDS

_DRIVE = re.compile(r"[A-Za-z]:")
BIG = 2**63 - 1


_NO_AUDIO = {
    **dict.fromkeys(
        (".jpg", ".jpeg", ".png", ".gif", ".heic", ".webp", ".tif", ".tiff", ".bmp", ".svg"),
        "a picture",
    ),
    **dict.fromkeys((".txt", ".md", ".pdf", ".doc", ".docx", ".odt", ".rtf"), "a text"),
    **dict.fromkeys((".mid", ".midi", ".musicxml", ".mxl"), "written music"),
    **dict.fromkeys((".csv", ".xls", ".xlsx", ".ods", ".toml", ".json", ".db", ".zip"), "data"),
}


def refuse_what_is_no_audio(name: str) -> None:
    """Raise LogbookError for a name that says by its ending that it is not audio."""
    kind = _NO_AUDIO.get(PurePath(name).suffix.lower())
    if kind:
        raise LogbookError(
            f"{PurePath(name).name} is {kind} and not audio",
            "list it under photographs = [...] of its session or part"
            if kind == "a picture"
            else "put it beside the session file, or mention it in the notes of what it belongs to",
        )


def path(value: Value, context: Context) -> str:
    """Read a path inside the session folder."""
    body = values.name(value, context)
    steps = body.replace("\\", "/").split("/")
    if body.startswith(("/", "\\", "~")) or _DRIVE.match(body):
        raise LogbookError(
            f"the path {values.shown(body)} leads out of the session folder",
            "write it relative to the session folder, as in takes/gtr_01.wav",
        )
    if ".." in steps:
        raise LogbookError(
            f"the path {values.shown(body)} leads out of the session folder",
            "put the file inside the folder and write its path relative to it",
        )
    refuse_what_is_no_audio(body)
    return "/".join(step for step in body.split("/") if step not in ("", "."))


def folder(value: Value, context: Context) -> str:
    """Read the folder a path counts from, as a dump holds it."""
    body = values.text(value, context)
    steps = body.replace("\\", "/").split("/")
    if body and ((not body.startswith(("/", "\\")) and not _DRIVE.match(body)) or ".." in steps):
        raise LogbookError(
            f"the folder {values.shown(body)} is not a full path",
            "leave it out: paths are relative to the session file's own folder",
        )
    return body


def file_of_path(body: str, context: Context) -> AudioFile:
    """Return the file at a path inside the session folder, of which nothing else is known."""
    return AudioFile(path=path(body, context), folder=context.folder or "")


def implied_folder(
    given: dict[str, Any], siblings: Sequence[AudioFile], context: Context
) -> dict[str, Any]:
    """Return the folder of a file that does not say one: the session file's own."""
    return {} if "folder" in given else {"folder": context.folder or ""}


def path_of(file: AudioFile, context: Context) -> str | None:
    """Return a file's path alone where nothing else is known of it, else None."""
    plain = AudioFile(path=file.path, folder=context.folder or "")
    return file.path if context.folder is not None and file == plain else None


def _tags(value: Value, context: Context) -> tuple[tuple[str, str], ...]:
    if isinstance(value, dict):
        return tuple(
            (values.text(key, context), values.text(each, context)) for key, each in value.items()
        )
    if not isinstance(value, list):
        value = [value]
    return tuple(_tag(each, context) for each in value)


def _tag(item: Value, context: Context) -> tuple[str, str]:
    pair = item.split("=", 1) if isinstance(item, str) else item
    if not isinstance(pair, list) or len(pair) != 2:
        raise LogbookError(f"{values.shown(item)} is not a tag", 'write it as in "title=Low Water"')
    return values.text(pair[0], context), values.text(pair[1], context)


def _write_tags(tags: tuple[tuple[str, str], ...]) -> Value:
    return dict(tags) if len(dict(tags)) == len(tags) else [list(pair) for pair in tags]


_ALSO_WORDS = {
    "take": "take",
    "session": "session",
    "version": "version",
    "song": "song",
    "microphone": "microphone",
    "mic": "microphone",
}
_ALSO_FORM = 'write it as in "bass; take 3; mic 3 DI", or "session day one"'
_ALSO_MOST, _ALSO_LEAST = 6, 5  # the microphone may be left out


def _also(value: Value, context: Context) -> tuple[tuple[str, ...], ...]:
    """Read what else a file is of: lines in clauses, a part first, or a session alone."""
    read: list[tuple[str, ...]] = []
    for each in value if isinstance(value, list) else [value]:
        if isinstance(each, list) and _ALSO_LEAST <= len(each) <= _ALSO_MOST:
            read.append(tuple(values.text(name, context) for name in each))
            continue
        line = values.name(each, context)
        head, said = read_clauses(line, _ALSO_WORDS, _ALSO_FORM)
        word, _, rest = head.partition(" ")
        if word.casefold() == "session" and rest.strip() and not said:
            read.append(("", "", "", "", rest.strip()))
            continue
        part = rest.strip() if word.casefold() == "part" and rest.strip() else head
        take = said.get("take", "")
        if not part or (take and not (take.isdecimal() and int(take) > 0)):
            raise LogbookError(f"{values.shown(line)} cannot be read", _ALSO_FORM)
        entry = (said.get("song", ""), said.get("version", ""), part, take, said.get("session", ""))
        read.append((*entry, said["microphone"]) if "microphone" in said else entry)
    return tuple(dict.fromkeys(read))


def _write_also(also: tuple[tuple[str, ...], ...]) -> Value:
    return [also_said(each) if ";" not in "".join(each) else list(each) for each in also]


def also_said(entry: Sequence[str]) -> str:
    """Return one thing that a file is of besides, as its line."""
    song, version, part, take, session, *microphone = entry
    if not part:
        return f"session {session}"
    head = f"part {part}" if part.casefold().startswith(("session ", "part ")) else part
    said = {"take": take, "session": session, "version": version, "song": song}
    said["mic"] = "".join(microphone)
    return write_clauses(head, said)


def _measurement(value: Value, context: Context) -> Measurement | None:
    if not isinstance(value, dict):
        raise LogbookError(f"{values.shown(value)} is not a measurement", "leave it to listening")
    unknown = [key for key in value if key not in _MEASURED]
    if unknown:
        raise LogbookError(f"a measurement has no {values.shown(unknown[0])}", "leave it out")
    return Measurement(**{key: _MEASURED[key](each, context) for key, each in value.items()})


def _write_measurement(measurement: Measurement) -> Value:
    usual = Measurement()
    pairs = ((key, getattr(measurement, key)) for key in _MEASURED)
    return {key: each for key, each in pairs if each != getattr(usual, key)}


def _heard_kind(value: Value, context: Context) -> str:
    body = values.text(value, context)
    if body not in HEARD_KINDS:
        raise LogbookError(
            f"{values.shown(body)} is not how two files can be related",
            f"write {', '.join(HEARD_KINDS[:-1])} or {HEARD_KINDS[-1]}",
        )
    return body


_MEASURED = {
    "tempo_bpm": values.number(),
    "tempo_drift_percent": values.number(),
    "tempo_reading": values.text,
    "tempo_bars": values.text,
    "tuning_cents": values.number(),
    "tuning_error_cents": values.number(),
    "tuning_from_cents": values.number(),
    "tuning_to_cents": values.number(),
    "tuning_apart_cents": values.number(),
    "tuning_apart": values.text,
    "click_late_ms": values.number(),
    "click_error_ms": values.number(),
    "click_by": values.text,
    "loudness_lufs": values.number(),
    "true_peak_dbtp": values.number(),
    "clipped_samples": values.whole(0),
    "silence_start_s": values.number(),
    "silence_end_s": values.number(),
    "measured_at": values.text,
}


CUE = Noun(
    word="cue",
    plural="cues",
    record=Cue,
    key=(),
    needs=("frame",),
    help="a labelled place in a file",
    members=members_of(Cue, __name__),
    line=LineForm(
        read=lambda line, context: {
            "frame": values.whole(0, BIG)(line.partition(" ")[0], context),
            "label": line.partition(" ")[2],
        },
        write=lambda cue, context: f"{cue.frame} {cue.label}" if cue.label else str(cue.frame),
        form="FRAME LABEL",
        example="48000 verse",
    ),
)

FILE_COPY = Noun(
    word="file-copy",
    plural="copies of files",
    record=FileCopy,
    key=("place",),
    needs=("place",),
    help="another place a file is kept, and when it was last checked there",
    members=members_of(FileCopy, __name__),
    line=LineForm(
        read=lambda line, context: {"place": values.name(line, context)},
        write=lambda copy, context: copy.place,
        form="PLACE",
        example="/media/blue/gtr_01.wav",
    ),
)

HEARD_DOUBLE = Noun(
    word="heard-double",
    plural="heard doubles",
    record=HeardDouble,
    key=("other",),
    needs=("other", "kind"),
    help="what listening found when it compared another file with this one",
    members=members_of(HeardDouble, __name__),
    line=LineForm(
        read=lambda line, context: {
            "other": values.name(line.partition(" ")[0], context),
            "kind": _heard_kind(line.partition(" ")[2].strip(), context),
        },
        write=lambda heard, context: f"{heard.other} {heard.kind}",
        form="DIGEST KIND",
        example="9f86d081 second performance",
    ),
)

HEARD_CHORD = Noun(
    word="heard-chord",
    plural="heard chords",
    record=HeardChord,
    key=("place",),
    needs=("place",),
    help="a chord that listening heard as a different one from the one logged",
    members=members_of(HeardChord, __name__),
    line=LineForm(
        read=lambda line, context: {"place": values.name(line, context)},
        write=lambda heard, context: heard.place,
        form="PLACE",
        example="9.3",
    ),
)

FILE = Noun(
    word="file",
    called=lambda file: file.path,
    plural="files",
    record=AudioFile,
    key=("folder", "path"),
    needs=("path",),
    help="an audio file, known by the digest of its sound",
    members=members_of(AudioFile, __name__),
    line=LineForm(
        read=lambda line, context: {"path": path(line, context), "folder": context.folder or ""},
        write=path_of,
        form="PATH",
        example="takes/gtr_01.wav",
    ),
)
