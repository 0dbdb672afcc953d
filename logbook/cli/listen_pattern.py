"""`logbook listen pattern`: what the picking hand of a part does, heard on the grid."""

from __future__ import annotations

from dataclasses import asdict
from fractions import Fraction
from typing import TYPE_CHECKING

from logbook.cli.listen_said import bars_of
from logbook.cli.listen_words import one_part
from logbook.cli.printing import print_json, print_table, say
from logbook.errors import LogbookError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from logbook.listening.hand import HeardPattern
    from logbook.listening.strokes import HeardStroke

_SIGNS = {"strum": "strum", "strings": "single strings", "muted": "muted hit"}


def tell_pattern(
    names: tuple[str, str, str],
    *,
    take: str,
    grid: str,
    bars: str,
    bar_by_bar: bool,
    as_json: bool,
) -> None:
    """Print the patterns of a part's recording, or of some `bars` of it.

    With `bar_by_bar` every stroke is printed too. Raises LogbookError where nothing is heard.
    """
    from logbook.editing.takes import parse_take_id
    from logbook.listening.picking_heard import hear_picking
    from logbook.listening.playing import open_recording
    from logbook.strings.picking import grid_text, parse_grid, read_pattern
    from logbook.strings.picking_count import pattern_lines

    place = one_part(*names)
    step = parse_grid(grid) if grid else None
    recording = open_recording(place, parse_take_id(take) if take else None)
    only = _bars_asked(bars, [bar.bar for bar in recording.bars]) if bars else None
    heard = hear_picking(recording, grid=step, only=only)
    if not heard.hand.strokes:
        where = f"{bars_of(only)} of " if only else ""
        other = "other --bars or another --take" if only else "another --take"
        raise LogbookError(f"no stroke is heard in {where}{recording.path.name}", f"give {other}")
    meters = {bar.bar: bar.meter for bar in recording.bars}
    if as_json:
        print_json(
            {
                "song": place.song.title,
                "version": place.version.name,
                "part": place.part.name,
                "file": recording.path.name,
                "grid": grid_text(heard.hand.grid),
                "swing": round(heard.hand.swing, 2),
                "on_grid": round(heard.hand.on_grid, 3),
                "patterns": [
                    {
                        "line": each.line,
                        "grid": grid_text(each.grid),
                        "feel": each.feel,
                        "bars": list(each.bars),
                        "sure": each.sure,
                        "direction_not_heard": list(each.guessed),
                    }
                    for each in heard.patterns
                ],
                "strokes": [asdict(stroke) for stroke in heard.hand.strokes],
            }
        )
        return
    part_of = f", {bars_of(only)}" if only else ""
    say(f"{place.title}, {recording.called} ({recording.path.name}){part_of}")
    say(_feel(heard.hand.grid, heard.hand.swing))
    for number, each in enumerate(heard.patterns, 1):
        say()
        say(f"{bars_of(each.bars)}: {each.sure:.0%} of the strokes are as this says")
        pattern = read_pattern(
            each.line, f"1/{each.grid.denominator}", meters[each.bars[0]], each.feel
        )
        for line in pattern_lines(pattern):
            say(f"  {line}")
        feel = "" if each.feel == "straight" else f", {each.feel}"
        say(f'  heard{number} = "{grid_text(each.grid)}: {each.line}{feel}"')
    say()
    say(_directions(heard.patterns))
    for pattern_record in place.part.patterns:
        say(
            f'In the log: {pattern_record.label} = "{pattern_record.grid}: {pattern_record.line}"'
            + ("" if pattern_record.feel == "straight" else f", {pattern_record.feel}")
        )
    if bar_by_bar:
        print_table(
            ("bar", "step", "stroke", "strings", "way", "level", "late"),
            [
                _row(stroke, recording.bars[0].meter.beat_length, heard.hand.grid)
                for stroke in heard.hand.strokes
            ],
        )


def _bars_asked(text: str, there: Sequence[int]) -> frozenset[int]:
    """Return the bars of a range that a recording has. Raises LogbookError for none of them."""
    from logbook.timing.bars import parse_ranges

    asked = parse_ranges(text)
    found = frozenset(bar for bar in there if any(bar in each.bars for each in asked))
    if not found:
        raise LogbookError(
            f"the recording has no bar of {text}", f"it has {bars_of(there)}; name some of them"
        )
    return found


def _feel(grid: Fraction, swing: float) -> str:
    from logbook.listening.hand import feel_text
    from logbook.strings.picking import grid_text

    said = feel_text(swing)
    how = "straight" if said == "straight" else f"{said}, heard as {swing:.2f}:1"
    return f"Strokes lie on a grid of {grid_text(grid)}, {how}."


def _directions(patterns: tuple[HeardPattern, ...]) -> str:
    strums = sum(each.line.count("D") + each.line.count("U") for each in patterns)
    guessed = sum(len(each.guessed) for each in patterns)
    if not strums:
        return "Single strings only: nothing is strummed."
    if not guessed:
        return "Down and up are heard from the strings' order."
    if guessed >= strums:
        return (
            "The strings' order is not heard: down and up are written as an alternating hand goes."
        )
    return (
        f"Down and up are heard at {strums - guessed} of {strums} steps; elsewhere they are "
        "written as an alternating hand goes."
    )


def _row(stroke: HeardStroke, beat: Fraction, grid: Fraction) -> tuple[str, ...]:
    at = 1 + stroke.step * grid / beat
    return (
        str(stroke.bar),
        str(at),
        _SIGNS[stroke.kind],
        str(len(stroke.strings)) if stroke.strings else "",
        stroke.direction,
        f"{stroke.level_db:+.0f} dB",
        f"{stroke.off_ms:+.0f} ms",
    )
