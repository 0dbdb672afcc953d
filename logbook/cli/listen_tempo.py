"""`logbook listen tempo`: beats and bars of a recording, and the tempo map they make."""

from __future__ import annotations

from pathlib import Path

from logbook.cli.listen_words import must_exist
from logbook.cli.printing import print_json, print_table, say
from logbook.errors import LogbookError


def tell_tempo(
    file: Path, *, about_bpm: float | None, meter: str, bar_by_bar: bool, as_json: bool
) -> None:
    """Print a recording's tempo map, as a session file has it, and how near its beats lie."""
    from logbook.listening.free_tempo import hear_tempo
    from logbook.timing import parse_meter
    from logbook.timing.map_text import tempo_lines
    from logbook.timing.tempo_runs import half_and_double

    if about_bpm is not None and not 20 <= about_bpm <= 400:
        raise LogbookError(f"{about_bpm:g} beats a minute is not a tempo", "give 20 to 400")
    said = parse_meter(meter) if meter else None
    heard = hear_tempo(must_exist(file), about_bpm=about_bpm, meter=said)
    laid = heard.laid
    lines = tempo_lines(laid.tempo_map)
    pickup = heard.pickup_beats
    if as_json:
        print_json(
            {
                "file": str(file),
                "meter": str(heard.meter),
                "meter_said": said is not None,
                "bar_certainty": heard.beats.certainty,
                "pickup": pickup,
                "starts_at_s": laid.start_s,
                "bar_one_at_s": heard.bar_one_s,
                "steady": laid.steady,
                "or": [{"bpm": bpm, "as": word} for bpm, word in half_and_double(heard.beats.bpm)]
                if about_bpm is None
                else [],
                "tempo": lines,
                "worst_ms": 1000 * laid.worst_s,
                "usual_ms": 1000 * laid.usual_s,
                "beats": [
                    {"at": str(point), "heard_s": time, "struck": struck}
                    for point, time, struck in zip(
                        laid.points,
                        map(float, heard.beats.times),
                        heard.beats.struck,
                        strict=True,
                    )
                ],
                "bars": [
                    {"bar": bar.bar, "starts_s": bar.starts_s, "bpm": bar.bpm} for bar in heard.bars
                ],
            }
        )
        return
    count = len(heard.beats.times)
    say(f"{file.name}: {count} beats heard, bar 1 begins at {heard.bar_one_s:.2f} s.")
    if said is None:
        sure = "" if heard.beats.certainty > 0.8 else "; it is hard to hear which beat is the first"
        say(f"Taken as {heard.meter} (--meter says otherwise){sure}.")
    if laid.steady:
        say(f"Steady at {lines[0].split()[-1]}.")
        if about_bpm is None and (other := half_and_double(heard.beats.bpm)):
            said_too = " or ".join(f"{bpm:.0f} in {word}" for bpm, word in other)
            say(f"It could equally be {said_too}: --about says which is meant.")
    else:
        say(f"Played free, between {heard.slowest_bpm:.0f} and {heard.fastest_bpm:.0f}:")
    say()
    say(f'meter = "{heard.meter}"')
    if pickup:
        say(f'pickup = "{pickup}"')
    if len(lines) == 1:
        say(f'tempo = "{lines[0]}"')
    else:
        say("tempo = [")
        for line in lines:
            say(f'  "{line}",')
        say("]")
    say()
    say(
        f"Half of the beats lie within {1000 * laid.usual_s:.0f} ms of this map, "
        f"19 in 20 within {1000 * laid.worst_s:.0f}."
    )
    if bar_by_bar:
        print_table(
            ("bar", "begins at", "tempo"),
            [(str(bar.bar), f"{bar.starts_s:.2f} s", f"{bar.bpm:.1f}") for bar in heard.bars],
        )
