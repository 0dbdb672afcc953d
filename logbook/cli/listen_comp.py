"""`logbook listen comp`: the pieces found, the bar map, the differences, and logging them."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from logbook.cli.asking import confirm
from logbook.cli.listen_words import one_part, waiting
from logbook.cli.log import changing
from logbook.cli.printing import print_json, print_table, remark, say, width
from logbook.errors import LogbookError

if TYPE_CHECKING:
    from logbook.editing.takes import TakeId
    from logbook.listening.part import HeardComp, TakeFile
    from logbook.listening.pieces import Piece, Pieces
    from logbook.records import Comp, CompPiece
    from logbook.records.part_view import PartView
    from logbook.timing import BarRange

LEAST_STRETCH_PERCENT = 0.1
A_CLOCK = 5e-4  # a converter's clock is off by less; more was done on purpose


def comp_of_files(bounce: Path, takes: Sequence[Path], *, as_json: bool) -> None:
    """Print the pieces of a bounce in seconds."""
    from logbook.listening import recover_comp

    with waiting("listening"):
        pieces = recover_comp(bounce, takes)
    names = [path.name for path in takes]
    if as_json:
        print_json({"bounce": bounce.as_posix(), **_pieces_data(pieces, names)})
        return
    _print_seconds(pieces, names)


def comp_of_part(
    meant: tuple[str, str, str],
    *,
    bounce: Path | None,
    named: Sequence[tuple[TakeId, Path]],
    bounce_at_s: float | None,
    name: str,
    yes: bool,
    as_json: bool,
) -> None:
    """Print the comp that is heard, where it differs from the log's, and log it if wanted."""
    from logbook.listening import recover_comp
    from logbook.listening.part import (
        bounce_file,
        hear_comp,
        meant_comp,
        place_of_file,
        records_of,
        take_files,
    )

    place = one_part(*meant, finished=True)
    comp_name, logged = meant_comp(place, name)
    files, missing = take_files(place, named)
    record = None if bounce is not None else bounce_file(place)
    path = place_of_file(record) if record is not None else bounce
    assert path is not None, "there is a bounce, named or in the log"
    for sentence in missing:
        remark(sentence)
    with waiting(f"listening to {len(files)} takes"):
        pieces = recover_comp(path, [file.path for file in files])
    names = [f"take {file.take}" for file in files]
    if place.tempo_map is None:
        remark(
            f"{place.song.title}, {place.version.name} has no tempo in the log, so these are "
            "seconds; log one with `logbook tempo add`"
        )
        if as_json:
            print_json({"bounce": path.as_posix(), **_pieces_data(pieces, names)})
        else:
            _print_seconds(pieces, names)
        return
    heard = hear_comp(place, pieces, files, bounce=record, bounce_at_s=bounce_at_s, logged=logged)
    differs = bool(heard.differences) and bool(heard.pieces)
    if as_json:
        applied = differs and yes
        if applied:
            _apply(place, comp_name, logged, records_of(heard.pieces, logged))
        print_json(_data(place, path, comp_name, pieces, names, heard, applied=applied))
        return
    _print(place, comp_name, logged, pieces, files, heard)
    if not differs:
        return
    question = f"log this as {comp_name} of {place.title}"
    confirm(f"{question}, in place of what is there" if logged else question, yes)
    _apply(place, comp_name, logged, records_of(heard.pieces, logged))
    say(f"logged as {comp_name}; `logbook undo` takes it back")


def _apply(place: PartView, name: str, logged: Comp | None, pieces: tuple[CompPiece, ...]) -> None:
    """Put the pieces into the log, as one change."""
    from logbook.records import Comp
    from logbook.store.editing import edit
    from logbook.store.finding import LogPlace as Where
    from logbook.store.finding import find
    from logbook.store.loading import load
    from logbook.store.writing import put

    where = Where(place.song.title, place.version.name, place.part.name)
    with changing() as (_, change):
        if logged is None:
            final = not any(comp.final for comp in place.part.comps)
            put(change, Comp(name=name, final=final, pieces=pieces), where)
            return
        found = find(change.connection, "comp", logged.name, where)
        (row,) = load(change.connection, "comp", f"t.id = {found.id:d}")
        if row.record != logged:
            raise LogbookError(
                f"somebody changed {name} while it was being listened to; nothing written",
                "check it and run the command again",
            )
        edit(change, found, {"pieces": pieces})


# Printing


def _print(
    place: PartView,
    name: str,
    logged: Comp | None,
    pieces: Pieces,
    files: Sequence[TakeFile],
    heard: HeardComp,
) -> None:
    from logbook.editing.bar_map import bar_map
    from logbook.editing.comp import comp_lines
    from logbook.editing.survey import survey_comp
    from logbook.sheets.text_bar_map import bar_map_lines

    tempo_map, takes = place.bars, place.takes
    form = place.form
    say(f"{place.title}, as heard in the finished part")
    say()
    survey = survey_comp(heard.pieces, takes, form, tempo_map)
    for line in bar_map_lines(bar_map(survey, takes, form, tempo_map), width()):
        say(line)
    say()
    _listed("Pieces", comp_lines(heard.pieces) or ["none: no bar comes from any take given"])
    _listed("Unknown", [f"{bars}: from no take that was given" for bars in heard.unknown])
    _listed("Kept", [f"{each.bars}: take {each.take} as logged, not heard" for each in heard.kept])
    loose = [each for each in heard.snapped if each.take is not None and not each.on_grid]
    _listed("Off beat", [f"{each.bars} begins at {each.piece.start:.3f} s" for each in loose])
    _listed("Speed", _speed_said(pieces))
    _listed("Rough comp", _comps_said(pieces, [f"take {file.take}" for file in files]))
    sure = [piece.confidence for piece in pieces if piece.take is not None]
    if sure:
        _listed("Confidence", [f"at least {min(sure):.2f} of 1"])
    say()
    if logged is None:
        say(f"No comp called {name} is logged yet." if heard.pieces else "Nothing to log.")
    elif not heard.differences:
        far = ", as far as its takes are here" if heard.kept else ""
        say(f"It agrees with {name} in the log{far}; nothing to change.")
    elif not heard.pieces:
        say("Nothing to log.")
    else:
        say(f"It differs from {name} in the log:")
        for each in heard.differences:
            say(f"  {each.bars}: heard {_from(each.heard)}, logged {_from(each.logged)}")


def _from(source: tuple[TakeId, BarRange] | None) -> str:
    if source is None:
        return "nothing known"
    take, bars = source
    return f"take {take} @ {bars}"


def _listed(heading: str, lines: Sequence[str]) -> None:
    for index, line in enumerate(lines):
        say(f"{heading if index == 0 else '':<12}{line}")


def _print_seconds(pieces: Pieces, names: Sequence[str]) -> None:
    print_table(
        ("from", "to", "at", "gain", "sure", "take"),
        [
            (
                f"{piece.start:.3f} s",
                f"{piece.end:.3f} s",
                "" if piece.take is None else f"{max(piece.source, 0.0):.3f} s",
                "" if _no_gain(piece) else f"{piece.gain_db:+.1f} dB",
                f"{piece.confidence:.2f}",
                "unknown: in no take that was given"
                if piece.take is None
                else names[piece.take] + _done(piece, names),
            )
            for piece in pieces
        ],
    )
    for line in [*_speed_said(pieces), *_comps_said(pieces, names)]:
        say(line)


def _no_gain(piece: Piece) -> bool:
    """Whether nothing can be said of its level."""
    return piece.take is None or piece.by_notes or piece.faint


def _done(piece: Piece, names: Sequence[str] = ()) -> str:
    """What was done to a piece: ", stretched 1.0 %, tuned 15 cents up, by its notes"."""
    from logbook.listening.snapping import also_said

    said = ", inverted" if piece.inverted else ""
    if piece.fade:
        said += f", crossfaded over {piece.fade:.2f} s"
    if piece.also:
        said += f", {also_said(dict.fromkeys(names[one.take] for one in piece.also))}"
    if piece.faint:
        said += ", faint"
    if not piece.by_notes:
        return said
    longer = 100 * (piece.stretch - 1.0)
    if abs(longer) >= LEAST_STRETCH_PERCENT:
        said += f", {'stretched' if longer > 0 else 'shortened'} {abs(longer):.1f} %"
    if piece.cents:
        said += f", tuned {abs(piece.cents):.0f} cents {'up' if piece.cents > 0 else 'down'}"
    return said + ", by its notes"


def _comps_said(pieces: Pieces, names: Sequence[str]) -> list[str]:
    """Which takes are comps of others."""
    from logbook.editing.words import listed

    return [
        f"{names[take]} is no performance: it is itself a comp, "
        f"of {listed(list(dict.fromkeys(names[one] for one in made)))}."
        for take, made in pieces.rough_comps.items()
    ]


def _speed_said(pieces: Sequence[Piece]) -> list[str]:
    """That the bounce runs at another speed than the takes, if it does."""
    exact = [piece.stretch for piece in pieces if not piece.by_notes]
    stretch = next((each for each in exact if each != 1.0), 1.0)
    if stretch == 1.0:
        return []
    side = "slower" if stretch > 1.0 else "faster"
    away = abs(stretch - 1.0)
    if away <= A_CLOCK:
        return [f"The bounce runs {1e6 * away:.0f} ppm {side} than the takes: a clock was off."]
    from math import log2

    cents = abs(1200 * log2(stretch))
    pitch = f"{cents:.0f} cents {'down' if stretch > 1.0 else 'up'}"
    return [f"The bounce runs {100 * away:.2f} % {side} than the takes, {pitch}: varispeed."]


def _pieces_data(pieces: Pieces, names: Sequence[str]) -> dict[str, Any]:
    data = [
        {
            "start": piece.start,
            "end": piece.end,
            "source": None if piece.take is None else piece.source,
            "take": None if piece.take is None else names[piece.take],
            "gain_db": piece.gain_db,
            "confidence": piece.confidence,
            "inverted": piece.inverted,
            "stretch": piece.stretch,
            "cents": piece.cents,
            "by_notes": piece.by_notes,
            "faint": piece.faint,
            "fade": piece.fade,
            "also": [{"take": names[one.take], "source": one.source} for one in piece.also],
        }
        for piece in pieces
    ]
    comps = [
        {"take": names[take], "of": list(dict.fromkeys(names[source] for source in made))}
        for take, made in pieces.rough_comps.items()
    ]
    return {"pieces": data, "rough_comps": comps}


def _data(
    place: PartView,
    bounce: Path,
    name: str,
    pieces: Pieces,
    names: Sequence[str],
    heard: HeardComp,
    *,
    applied: bool,
) -> dict[str, Any]:
    from logbook.editing.comp import comp_lines

    return {
        "song": place.song.title,
        "version": place.version.name,
        "part": place.part.name,
        "comp": name,
        "bounce": bounce.as_posix(),
        **_pieces_data(pieces, names),
        "lines": comp_lines(heard.pieces),
        "unknown": [str(bars) for bars in heard.unknown],
        "kept": [str(piece) for piece in heard.kept],
        "differences": [
            {
                "bars": str(each.bars),
                "heard": _from(each.heard) if each.heard else None,
                "logged": _from(each.logged) if each.logged else None,
            }
            for each in heard.differences
        ],
        "agrees": not heard.differences,
        "applied": applied,
    }
