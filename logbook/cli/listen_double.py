"""`logbook listen double`: two files held against each other, told, and kept with the log."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from logbook.cli.listen_words import one_part, waiting
from logbook.cli.log import settings
from logbook.cli.printing import print_json, say
from logbook.errors import LogbookError

if TYPE_CHECKING:
    from logbook.listening.doubles import Comparison
    from logbook.records import HeardDouble
    from logbook.records.part_view import PartView
    from logbook.store.file_rows import FileLine

WHOLE = 0.95
LEAST_STRETCH_PERCENT, LEAST_CENTS = 0.05, 2.0  # less is not certain
MOST_STRETCHES = 4


def compare(
    words: Sequence[str], files: Sequence[Path] | None, version: str, *, as_json: bool
) -> None:
    """Compare two files, or the files of two parts, tell what was heard, and keep it."""
    from logbook.listening import compare_doubles

    a, b = _two(words, files, version)
    with waiting("listening"):
        found = compare_doubles(a, b)
    kept = _keep(a, b, found)
    if as_json:
        print_json(_data(a, b, found) | {"kept": kept})
        return
    for line in _lines(a, b, found):
        say(line)
    say(kept)


def _two(words: Sequence[str], files: Sequence[Path] | None, version: str) -> tuple[Path, Path]:
    if files is not None:
        if len(files) != 2:
            raise LogbookError(
                f"{len(files)} file{' was' if len(files) == 1 else 's were'} given",
                "give the two that are to be compared",
            )
        if files[0].resolve() == files[1].resolve():
            raise LogbookError(f"{files[0]} was given twice", "give two files")
        return files[0], files[1]
    if not 2 <= len(words) <= 3:
        raise LogbookError(
            "it is not clear which two are meant", "give two files, or a song and two parts"
        )
    song, first, second = words if len(words) == 3 else ("", *words)
    one, other = (one_part(song, part, version) for part in (first, second))
    if one.part.name == other.part.name:
        raise LogbookError(f"{one.part.name} was given twice", "name two parts")
    return _file_of(one), _file_of(other)


def _file_of(place: PartView) -> Path:
    """The file that stands for a part: finished, else of its keeper, else of its last good take."""
    from logbook.listening.part import RELINK, place_of_file

    ranks = {"keeper": 0, "complete": 1, "": 2, "incomplete": 3}
    takes = sorted(
        (take for take in reversed(place.recorded.takes) if take.result in ranks),
        key=lambda take: ranks[take.result],
    )
    known = [*place.recorded.files, *(file for take in takes for file in take.files)]
    if not known:
        raise LogbookError(
            f"{place.title} has no audio file to listen to",
            "`logbook import FOLDER` attaches files to takes",
        )
    there = [path for path in map(place_of_file, known) if path.is_file()]
    if not there:
        raise LogbookError(f"{known[0].path} is not where the log says", RELINK)
    return there[0]


# Keeping


def _keep(a: Path, b: Path, found: Comparison) -> str:
    """Keep what was heard with A's file where both are in the log; say what became of it."""
    from logbook.store.changing import now
    from logbook.store.editing import edit
    from logbook.store.file_rows import read_files, read_records
    from logbook.store.finding import FoundRow
    from logbook.store.lifecycle import open_log

    try:
        store = open_log(settings.db or None, create=False)
    except LogbookError:
        return "Not kept: there is no log yet that holds these files."
    with store:
        with store.reading() as connection:
            lines = read_files(connection)
        rows = [_row(path, lines) for path in (a, b)]
        for path, row in zip((a, b), rows, strict=True):
            if row is None:
                return f"Not kept: {path.name} is not in the log; `logbook import` brings it there."
        one, other = rows
        assert one is not None, "both are in the log"
        assert other is not None, "both are in the log"
        heard = _record(other.digest, found, now())
        with store.change(settings.command or "listen double") as change:
            records = read_records(change.connection, [one.id, other.id])
            mine, theirs = records[one.id].heard_doubles, records[other.id].heard_doubles
            old = next((each for each in mine if each.other == heard.other), None)
            if old is not None and _same(old, heard):
                return "Kept already; `logbook check` compares it with what the log says."
            rest = tuple(each for each in mine if each.other != heard.other)
            edit(
                change, FoundRow("audio_file", one.id, one.path), {"heard_doubles": (*rest, heard)}
            )
            back = tuple(each for each in theirs if each.other != one.digest)
            if one.id != other.id and back != theirs:
                edit(change, FoundRow("audio_file", other.id, other.path), {"heard_doubles": back})
    return "Kept in the log; `logbook check` compares it with what the log says."


def _row(path: Path, lines: Sequence[FileLine]) -> FileLine | None:
    """The row of a file, by its place if its sound is still the one that was read, or its sound."""
    from logbook.audio.reading import audio_digest

    digest = audio_digest(path)
    place = path.resolve().as_posix()
    same = [line for line in lines if line.digest == digest]
    at_place = [line for line in same if f"{line.folder.rstrip('/')}/{line.path}" == place]
    hung = [line for line in same if line.take_id or line.part_id]
    return next(iter([*at_place, *hung, *same]), None)


def _record(other: str, found: Comparison, heard_at: str) -> HeardDouble:
    from logbook.records import HeardDouble

    timing = found.timing
    return HeardDouble(
        other=other,
        kind=found.kind.value,
        offset_s=found.offset_s,
        residual_db=found.residual_db,
        median_ms=timing.median_ms if timing else None,
        lower_quartile_ms=timing.lower_quartile_ms if timing else None,
        upper_quartile_ms=timing.upper_quartile_ms if timing else None,
        heard_at=heard_at,
    )


def _same(one: HeardDouble, other: HeardDouble) -> bool:
    from dataclasses import replace

    return replace(one, heard_at="") == replace(other, heard_at="")


# Telling

_SAID = {
    "identical": "the same recording, identical",
    "delayed": "the same recording, delayed",
    "processed": "a processed copy of the same recording",
    "second performance": "a second performance",
    "unrelated": "neither the same recording nor the same part",
}


def _lines(a: Path, b: Path, found: Comparison) -> list[str]:
    side = "after" if found.offset_s >= 0 else "before"
    aligned = f"{b.name} lies {1000 * abs(found.offset_s):.1f} ms {side} {a.name}"
    if abs(found.offset_s) < 5e-6:
        aligned = "both begin together"
    if found.kind.value == "unrelated":
        aligned += " at the best"
    level = (
        f"{b.name} is {abs(found.gain_db):.1f} dB {'louder' if found.gain_db >= 0 else 'softer'}"
    )
    rows = [
        (
            "",
            f"{b.name} is {_SAID[found.kind.value]}" + (f" of {a.name}." if found.timing else "."),
        ),
        ("Alignment", aligned),
        ("Level", level + (", of opposite polarity" if found.inverted else "")),
        (
            "Residual",
            f"{min(found.residual_db, 0.0) or 0.0:.1f} dB is left when {a.name} is taken away",
        ),
    ]
    if found.same_recording:
        rows.append(("Lines up", f"{100 * found.share:.0f} % of the sound they share in time"))
        if done := _done(found):
            rows.append(("Processed", done))
        if found.share < WHOLE and found.pasted:
            rows.append(("Copied", f"{_stretches(found)} of {b.name}"))
        rows.append(("", "A copy is not a double: a double is a second performance."))
    else:
        rows.append(("Paired", f"{100 * found.share:.0f} % of the notes begin together"))
        if found.pasted:
            copied = f"{_stretches(found)} of {b.name} copied from {a.name}, not played again"
            rows.append(("Pasted", copied))
    if found.timing is not None:
        each = found.timing
        rows.append(
            (
                "Timing",
                f"{each.word}: median {each.median_ms:.1f} ms apart, quartiles "
                f"{each.lower_quartile_ms:.1f} and {each.upper_quartile_ms:.1f} ms, "
                f"{each.pairs} notes",
            )
        )
    return [f"{heading:<11}{text}" if heading else text for heading, text in rows]


def _done(found: Comparison) -> str:
    """What was done to a copy: "stretched by 0.50 %, tuned 7 cents up"."""
    said: list[str] = []
    longer = 100 * (found.stretch - 1.0)
    if abs(longer) >= LEAST_STRETCH_PERCENT:
        said.append(f"{'stretched' if longer > 0 else 'shortened'} by {abs(longer):.2f} %")
    if abs(found.cents) >= LEAST_CENTS:
        said.append(f"tuned {abs(found.cents):.0f} cents {'up' if found.cents > 0 else 'down'}")
    return ", ".join(said)


def _stretches(found: Comparison) -> str:
    """Seconds of B: "10.5-21.0 s, 30.2-34.0 s"."""
    shown = [f"{start:.1f}-{end:.1f} s" for start, end in found.pasted[:MOST_STRETCHES]]
    rest = len(found.pasted) - len(shown)
    return ", ".join(shown) + (f" and {rest} more" if rest else "")


def _data(a: Path, b: Path, found: Comparison) -> dict[str, Any]:
    timing = found.timing
    return {
        "a": a.as_posix(),
        "b": b.as_posix(),
        "kind": found.kind.value,
        "same_recording": found.same_recording,
        "offset_s": found.offset_s,
        "gain_db": found.gain_db,
        "inverted": found.inverted,
        "residual_db": found.residual_db,
        "share": found.share,
        "pasted": [[start, end] for start, end in found.pasted],
        "stretch": found.stretch,
        "cents": found.cents,
        "timing": None
        if timing is None
        else {
            "median_ms": timing.median_ms,
            "lower_quartile_ms": timing.lower_quartile_ms,
            "upper_quartile_ms": timing.upper_quartile_ms,
            "pairs": timing.pairs,
            "word": timing.word,
        },
    }
