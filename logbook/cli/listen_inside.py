"""`logbook listen inside`: passes of a loop and punch-ins, heard inside one file."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from logbook.cli.listen_said import sure_word
from logbook.cli.listen_words import as_files, one_part, waiting
from logbook.cli.printing import print_json, print_table, say
from logbook.errors import LogbookError

if TYPE_CHECKING:
    from logbook.editing.takes import TakeId
    from logbook.listening.following import LaidBar
    from logbook.listening.passes import HeardPasses
    from logbook.listening.punched import Edge, HeardPunch
    from logbook.timing import BarRange


def tell_inside(
    words: Sequence[str], version: str, *, take: str, length_s: float | None, as_json: bool
) -> None:
    """Print the passes and punch-ins of a file, or of a take's file with the lines to type."""
    from logbook.listening.decoding import decode
    from logbook.listening.passes import find_passes
    from logbook.listening.punched import find_punches

    files = as_files(words)
    bars: Sequence[LaidBar] = ()
    number: TakeId | None = None
    following = 0
    covers: BarRange | None = None
    if files is not None:
        if len(files) != 1:
            raise LogbookError(f"{len(files)} files were given", "give one")
        path = files[0]
    else:
        path, bars, number, covers, following, known = _of_part(words, version, take)
        length_s = length_s or known
    if length_s is not None and length_s <= 0:
        raise LogbookError(f"a loop cannot last {length_s:g} s", "give its length in seconds")
    with waiting("listening"):
        sound = decode(path)
        passes = find_passes(sound.samples, sound.rate, length_s=length_s)
        punches = find_punches(sound.samples, sound.rate)
    lines = _pass_lines(passes, covers, following) if files is None else []
    punched = {id(each): _bars_of(each, bars) for each in punches}
    typed = [f"t{number} punch {said}" for said in punched.values() if said and number]
    if as_json:
        print_json(
            {
                "file": path.as_posix(),
                "loop_s": passes.length_s if passes else None,
                "passes": [
                    {
                        "starts_s": each.start_s,
                        "ends_s": each.end_s,
                        "sure": each.sure,
                        "broken_off": each.broken_off,
                    }
                    for each in (passes.passes if passes else ())
                ],
                "punch_ins": [
                    {
                        "start": _edge(each.start),
                        "end": _edge(each.end) if each.end else None,
                        "sure": each.sure,
                        "bars": punched[id(each)],
                    }
                    for each in punches
                ],
                "lines": [*lines, *typed],
            }
        )
        return
    _tell_passes(path, passes)
    _tell_punches(punches, punched)
    if lines or typed:
        say("To log it, type in the room or with `logbook at`:")
        for line in (*lines, *typed):
            say(f"  {line}")


def _of_part(
    words: Sequence[str], version: str, take: str
) -> tuple[Path, Sequence[LaidBar], TakeId | None, BarRange | None, int, float | None]:
    """A take's file, its bars, which take, its bars by the log, the next number, its length."""
    from logbook.editing.takes import parse_take_id
    from logbook.listening.beginnings import music_at
    from logbook.listening.decoding import decode
    from logbook.listening.following import hear_onsets, lay_bars
    from logbook.listening.playing import choose_file
    from logbook.timing.bars import BarPoint

    if len(words) > 2:
        raise LogbookError(f"{len(words)} names were given", "name a song and one of its parts")
    song, part = [*words, "", ""][:2]
    place = one_part(song, part, version)
    chosen = choose_file(place, parse_take_id(take) if take else None)
    following = max((each.number for each in place.takes), default=0) + 1
    tempo_map = place.tempo_map
    if tempo_map is None:
        return chosen.path, (), chosen.take, chosen.covers, following, None
    known = None
    if chosen.covers is not None:
        covered = chosen.covers
        last = BarPoint(max(covered.bars) + 1)
        known = float(tempo_map.seconds_at(last) - tempo_map.seconds_at(covered.start))
    sound = decode(chosen.path)
    begins = music_at(place, chosen.file, tempo_map) if chosen.file is not None else None
    bars = lay_bars(
        sound,
        hear_onsets(sound),
        tempo_map,
        chosen.covers,
        begins,
        meter=place.bars.meter_at(1),
    )
    # A file of one pass holds no loop of that length, and its own repeats are no passes.
    return chosen.path, bars, chosen.take, chosen.covers, following, known


def _tell_passes(path: Path, passes: HeardPasses | None) -> None:
    if passes is None:
        say(f"{path.name}: nothing in it repeats the way passes of a loop do.")
        return
    say(f"{path.name}: {len(passes.passes)} passes of a loop of {passes.length_s:.2f} s.")
    print_table(
        ("pass", "begins at", "ends at", "how sure"),
        [
            (
                str(number),
                f"{each.start_s:.2f} s",
                f"{each.end_s:.2f} s",
                f"{sure_word(each.sure)}, {each.sure:.2f}"
                + (", broken off" if each.broken_off else ""),
            )
            for number, each in enumerate(passes.passes, 1)
        ],
    )


def _tell_punches(punches: Sequence[HeardPunch], bars: dict[int, str]) -> None:
    if not punches:
        say(
            "No punch-in is heard: the room's noise is one throughout, no sound breaks off, and"
            " what rings goes on as it should."
        )
        return
    for each in punches:
        where = f"at {_said(each.start)}"
        if each.end is not None:
            where = f"from {_said(each.start)} to {_said(each.end)}"
        at = bars[id(each)]
        said = f" (bars {at})" if "-" in at else f" (bar {at})" if at else ""
        what = "Punch-in" if each.end is not None else "An edit"
        say(f"{what} {where}{said}: {_why(each.start)}; {sure_word(each.sure)}, {each.sure:.2f}.")


def _said(edge: Edge) -> str:
    reach = max(edge.at_s - edge.from_s, edge.to_s - edge.at_s)
    if reach < 0.1:
        return f"{edge.at_s:.3f} s (give or take {1000 * reach:.0f} ms)"
    return f"{edge.at_s:.2f} s (give or take {reach:.2f} s)"


def _why(edge: Edge) -> str:
    said = []
    if edge.jump_db:
        side = "louder" if edge.jump_db > 0 else "softer"
        said.append(f"the room is {abs(edge.jump_db):.0f} dB {side} there")
    if edge.broken:
        said.append("a ringing sound breaks off")
    if edge.leaps:
        said.append("what rings goes on from somewhere else")
    return " and ".join(said)


def _edge(edge: Edge) -> dict[str, object]:
    return {
        "at_s": edge.at_s,
        "from_s": edge.from_s,
        "to_s": edge.to_s,
        "noise_jump_db": edge.jump_db,
        "broken_decay": edge.broken,
        "ringing_leaps": edge.leaps,
        "sure": edge.sure,
    }


def _bars_of(punch: HeardPunch, bars: Sequence[LaidBar]) -> str:
    """The bars that were punched, "12" or "12-14"; empty where no map says or it has no end."""
    if punch.end is None:
        return ""
    start, end = punch.start.at_s, punch.end.at_s
    hit = [
        bar.bar
        for bar in bars
        if min(end, bar.end) - max(start, bar.start) > 0.25 * (bar.end - bar.start)
    ]
    if not hit:
        return ""
    return str(hit[0]) if hit[0] == hit[-1] else f"{hit[0]}-{hit[-1]}"


def _pass_lines(passes: HeardPasses | None, covers: BarRange | None, following: int) -> list[str]:
    """A line for each pass, as takes after those that are there."""
    if passes is None:
        return []
    out = []
    for number, each in enumerate(passes.passes):
        bars = "" if covers is None or each.broken_off else f" {covers}"
        word = " incomplete" if each.broken_off else ""
        out.append(f"t{following + number}{word}{bars} pass {number + 1} at {each.start_s:.2f} s")
    return out
