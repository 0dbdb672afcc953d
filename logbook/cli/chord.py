"""`logbook chord`: all there is to say about one voicing, or a line about each of many.

No log is opened. In a batch a line is a fret line, and after a colon the name the player gave:
`x 0 2 2 1 0 : Am7`. Empty lines and lines that begin with # are passed over; a line that cannot
be read is told on the error output, the others are answered all the same, and the exit code is 2.
"""

from __future__ import annotations

import sys
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from typing import IO, TYPE_CHECKING, Annotated, Any, NamedTuple

import typer

from logbook.cli.apps import new_app
from logbook.cli.forms import (
    EVERY_SHEET,
    Goal,
    LeftHandedOption,
    OpenOption,
    OutOption,
    PaperOption,
    form_of,
    form_option,
)
from logbook.cli.options import JsonOption, SpellingOption
from logbook.cli.paging import let_through
from logbook.cli.printing import remark, say
from logbook.errors import LogbookError
from logbook.sheets.catalog import make_sheet
from logbook.sheets.voicings import VoicingAnswer, one_line, to_dict
from logbook.strings.capo import Capos, check_capos, read_capos
from logbook.strings.tunings import StringTuning, at_pitch, read_tuning
from logbook.strings.voicing import SoundingVoicing, describe
from logbook.theory.notes import pitch_class
from logbook.theory.written import in_letters

if TYPE_CHECKING:
    from logbook.strings.finder import Limits

FORMS = (*EVERY_SHEET, "csv", "svg")

app = new_app(
    "Analyse one voicing: frets both ways, what sounds, its names, degrees, "
    "what may ring, fingers and reach. No log is needed.",
    examples=(
        'logbook chord "x 0 2 2 1 0" --capo 2 --from capo --key Bm --name Am',
        "logbook chord x32010 --ways 5",
        "logbook chord --name F#m7b5 --tuning DADGAD --ways 12",
        "logbook chord --batch frets.txt --key G",
    ),
    single=True,
)


class _Asked(NamedTuple):
    """What was said about the instrument and the key, for one voicing or for many."""

    tuning: StringTuning
    capos: Capos
    counted: str
    key: str | None
    bass: int | None
    before: str | None
    after: str | None
    scale_mm: float | None
    spelling: str = "letters"


@app.command()
def chord(
    frets: Annotated[
        str,
        typer.Argument(
            metavar="[FRETS]", help='A fret for each string, low to high: "x 0 2 2 1 0".'
        ),
    ] = "",
    tuning: Annotated[
        str, typer.Option("--tuning", "-t", metavar="NAME", help="A name, or strings low to high.")
    ] = "standard",
    capo: Annotated[
        str, typer.Option("--capo", "-c", metavar="FRET", help='"2", or "2 on strings 3-5".')
    ] = "0",
    counted: Annotated[
        str, typer.Option("--from", "-f", metavar="nut|capo", help="Where frets count from.")
    ] = "nut",
    key: Annotated[
        str, typer.Option("--key", "-k", metavar="KEY", help="The concert key, to spell by.")
    ] = "",
    name: Annotated[
        str,
        typer.Option(
            "--name",
            "-n",
            metavar="CHORD",
            help="The name given, to be judged; without frets: to be fingered.",
        ),
    ] = "",
    bass: Annotated[
        str, typer.Option("--bass", "-b", metavar="NOTE", help="What another part plays below.")
    ] = "",
    before: Annotated[
        str, typer.Option("--before", metavar="CHORD", help="The chord before, to rank names by.")
    ] = "",
    after: Annotated[
        str, typer.Option("--after", metavar="CHORD", help="The chord after, to spell the root by.")
    ] = "",
    fingers: Annotated[
        str, typer.Option("--fingers", metavar="LINE", help='The fingers used: "- 0 2 3 1 0".')
    ] = "",
    ways: Annotated[
        int, typer.Option("--ways", "-w", min=0, help="How many other ways to finger it to show.")
    ] = 0,
    same_notes: Annotated[
        bool, typer.Option("--same-notes", help="Other ways with the exact same notes only.")
    ] = False,
    spelling: SpellingOption = "letters",
    every: Annotated[
        bool, typer.Option("--every", help="Every other way, also those that only sound thinner.")
    ] = False,
    stretch: Annotated[
        float, typer.Option("--stretch", metavar="MM", help="The reach other ways may take.")
    ] = 100.0,
    most_fingers: Annotated[
        int, typer.Option("--most-fingers", min=1, max=4, help="The fingers other ways may take.")
    ] = 4,
    scale: Annotated[
        float | None, typer.Option("--scale", metavar="MM", help="The scale length.")
    ] = None,
    a4: Annotated[float, typer.Option("--a4", metavar="HZ", help="The reference pitch.")] = 440.0,
    cents: Annotated[
        float, typer.Option("--cents", help="What the instrument lies above it, in cents.")
    ] = 0.0,
    batch: Annotated[
        str, typer.Option("--batch", metavar="FILE|-", help="Name many, a line each.")
    ] = "",
    moves: Annotated[
        bool, typer.Option("--moves", help="In a batch: what moves from each to the next.")
    ] = False,
    form: Annotated[str, form_option(*FORMS)] = "",
    out: OutOption = None,
    open_it: OpenOption = False,
    left_handed: LeftHandedOption = False,
    paper: PaperOption = "A4",
    as_json: JsonOption = False,
) -> None:
    """Analyse one voicing."""
    chosen = form_of("a chord", FORMS, form, out, as_json=as_json)
    goal = Goal(chosen, out, open_it, paper, left_handed)
    name, before, after, key, bass = (
        in_letters(text, spelling) for text in (name, before, after, key, bass)
    )
    asked = _Asked(
        at_pitch(read_tuning(tuning), a4_hz=a4, offset_cents=cents),
        read_capos(capo),
        counted,
        key or None,
        pitch_class(bass.rstrip("0123456789")) if bass else None,
        before or None,
        after or None,
        scale,
        spelling,
    )
    if batch:
        if frets:
            raise LogbookError("frets and --batch were both given", "give one of them")
        alone = {
            "--name": name, "--fingers": fingers, "--ways": ways, "--same-notes": same_notes,
            "--every": every,
        }  # fmt: skip
        for option, given in alone.items():
            if given:
                raise LogbookError(
                    f"{option} is for one voicing, and --batch answers about many",
                    "leave it out; a name may follow the frets of a line: x 0 2 2 1 0 : Am",
                )
        _say_many(batch, asked, goal, moves=moves)
        return
    if moves:
        raise LogbookError("--moves says what changes in a --batch", "give a file, or - for lines")
    limits = _Limits(stretch, most_fingers, scale, None if every else ways or 8, same_notes)
    if not frets:
        _say_ways_of(name, asked, limits, goal)
        return
    voicing = _describe(frets, asked, name, fingers)
    found = None
    if ways or same_notes or every:
        from logbook.strings.alternatives import other_ways

        found = other_ways(
            voicing, same_notes=same_notes, limits=limits.to_find(), most=limits.most
        )
    goal.hand_out(make_sheet("chord", VoicingAnswer(voicing, found, counted, most_fingers)))


class _Limits(NamedTuple):
    """What was said about other ways: reach in mm, fingers, scale length, how many, which."""

    stretch_mm: float
    fingers: int
    scale_mm: float | None
    most: int | None
    same_notes: bool

    def to_find(self) -> Limits:
        """The limits as the finder takes them."""
        from logbook.strings.finder import Limits

        return Limits(self.stretch_mm, self.fingers, None, self.scale_mm)


def _say_ways_of(chord: str, asked: _Asked, limits: _Limits, goal: Goal) -> None:
    """Say how a chord that is named can be fingered, the easiest way first."""
    if not chord:
        raise LogbookError(
            "no frets were given",
            'write one for each string, low to high: "x 0 2 2 1 0", or a --name to be fingered',
        )
    from logbook.sheets.finger_ways import Fingerings
    from logbook.strings.alternatives import chord_ways
    from logbook.theory.keys import as_key

    key = as_key(asked.key) if asked.key else None
    check_capos(asked.capos, asked.tuning)
    found = chord_ways(chord, asked.tuning, asked.capos, limits=limits.to_find(), most=limits.most)
    if not found and goal.form != "json":
        raise LogbookError(
            f"{chord} cannot be held within this reach and with these fingers",
            "allow more with --stretch and --most-fingers, or try another capo",
        )
    goal.hand_out(
        make_sheet("fingerings", Fingerings(chord, found, key, asked.counted, limits.fingers))
    )


def _describe(frets: str, asked: _Asked, name: str = "", fingers: str = "") -> SoundingVoicing:
    return describe(
        frets,
        asked.tuning,
        asked.capos,
        counted=asked.counted,
        key=asked.key,
        name=name,
        bass=asked.bass,
        before=asked.before,
        after=asked.after,
        fingers=fingers,
        scale_mm=asked.scale_mm,
    )


def _say_many(source: str, asked: _Asked, goal: Goal, *, moves: bool) -> None:
    """Answer each line of a file, or of the standard input.

    On the screen and as JSON an answer follows its line at once; the other forms wait for all.
    """
    wrong = 0
    answered: list[tuple[int, SoundingVoicing]] = []
    at_once = goal.out is None and not goal.open_it and goal.form in ("text", "json")
    with _opened(source) as lines:
        for number, frets, name in _asked_lines(lines):
            try:
                voicing = _describe(frets, asked, in_letters(name, asked.spelling))
            except LogbookError as error:
                remark(f"line {number}: {error}")
                wrong += 1
                continue
            if at_once and goal.form == "json":
                _json_line({"line": number, **to_dict(voicing)})
            elif at_once:
                say(one_line(voicing))
            if moves or not at_once:
                answered.append((number, voicing))
            if moves:
                asked = asked._replace(before=voicing.chord if voicing.concert[0].named else None)
    if not at_once:
        from logbook.sheets.voicing_lists import AskedVoicings

        goal.hand_out(make_sheet("chords", AskedVoicings(tuple(answered), moves)))
    elif moves:
        _say_moves([voicing for _, voicing in answered], goal)
    if wrong:
        raise typer.Exit(2)


def _say_moves(voicings: list[SoundingVoicing], goal: Goal) -> None:
    from logbook.sheets.finger_ways import change_to_dict, lines_to_dict
    from logbook.sheets.looks import Sheet
    from logbook.sheets.voicing_lists import move_blocks
    from logbook.strings.moves import section_changes

    if not voicings:
        return
    if goal.form == "json":
        changes = [change_to_dict(change) for change in section_changes(voicings)]
        _json_line({"changes": changes, "lines": lines_to_dict(voicings)})
        return
    say()
    goal.hand_out(Sheet("moves", "Moves", (), tuple(move_blocks(voicings))))


def _asked_lines(lines: Iterable[str]) -> Iterator[tuple[int, str, str]]:
    """Yield line number, frets and name of every line that asks something."""
    for number, line in enumerate(lines, start=1):
        text = line.lstrip("\ufeff").strip()
        if text and not text.startswith("#"):
            frets, _, name = text.partition(":")
            yield number, frets.strip(), name.strip()


@contextmanager
def _opened(source: str) -> Iterator[IO[str]]:
    if source == "-":
        # Whoever types a line is answered by a line.
        let_through()
        yield sys.stdin
        return
    with open(source, encoding="utf-8", errors="replace") as file:
        yield file


def _json_line(data: dict[str, Any]) -> None:
    """Print one object on one line, so that a program can read line by line."""
    import json

    say(json.dumps(data, ensure_ascii=False))
