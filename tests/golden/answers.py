"""What the pure rooms answer to some thousand questions, word for word as people last read it.

    python tests/golden/answers.py

Each file in `answers/` has a question a line and after `->` its answer; the questions are read
from the file, so a new one is a line with nothing after its arrow. They are no proof that an
answer is right (that is in tests/reference and in each room): they show what a change of a rule
or of a weight does elsewhere, and are drawn again where that was meant.
"""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise
from pathlib import Path

from logbook.errors import LogbookError
from logbook.strings import (
    Capos,
    Position,
    RecordedChord,
    SoundingVoicing,
    capo_table,
    count_frets,
    describe,
    find_tuning,
    find_voicings,
    parse_tuning,
    place_frets,
    propose_fingers,
    read_capos,
    read_frets,
    shape_midi,
    sounding_midi,
)
from logbook.strings.finder import Fingering
from logbook.strings.instruments import find_kind
from logbook.strings.kit import piece_called
from logbook.strings.moves import moves_between
from logbook.strings.ornaments import read_ornaments, write_ornaments
from logbook.strings.picking import (
    grid_text,
    pattern_text,
    read_pattern,
    single_cells,
    swing_text,
)
from logbook.strings.tunings import StringTuning
from logbook.theory import (
    judge,
    likely_keys,
    midi_to_name,
    name_chord,
    plain_number,
    read_symbol,
    roman_numeral,
    transpose_symbol,
)
from logbook.theory.compass import compass_of
from logbook.theory.tunes import length_of, read_tune, tune_text
from logbook.theory.written import written_out
from logbook.timing import BarPoint, parse_meter, read_tempo_map
from logbook.timing.map_text import meter_lines, pickup_text, tempo_lines
from tests.golden.answers_of_edits import comps, drafts, placed, shifts, snapped, views
from tests.golden.answers_of_names import (
    barres,
    cells,
    codes,
    grids,
    hands,
    kits,
    meters,
    moved,
    numbers,
    omissions,
    pitches,
    places,
    signs,
    spellings,
    swings,
    tones,
    ways,
)

FOLDER = Path(__file__).parent / "answers"
ARROW = " -> "
_SHOWN = 6  # of many fingerings, this many


def names(steps: str) -> str:
    """Names of a chord, from its notes above middle C in semitones."""
    found = name_chord([60 + int(step) for step in steps.split()])
    return "; ".join(each.symbol for each in found[:4])


def names_in_key(asked: str) -> str:
    """Names of the same notes, from "notes | key | chord before or -"."""
    steps, key, before = asked.split(" | ")
    notes = [60 + int(step) for step in steps.split()]
    found = name_chord(notes, key=key, before=None if before == "-" else before)
    return "; ".join(each.symbol for each in found[:3])


def symbols(text: str) -> str:
    """What a chord symbol means: its notes by their names, and it elsewhere."""
    symbol = read_symbol(text)
    higher = " ".join(transpose_symbol(text, by) for by in (1, 2, 3, 5, 6, 8, 10))
    return f"{symbol.root} {' '.join(symbol.degrees)} / {symbol.bass or '-'}; {higher}"


def written(text: str) -> str:
    """A chord's name as people write and say it, in letters."""
    return written_out(text).text


def keys(chords: str) -> str:
    """The keys that a progression may be in, with their scores and reasons."""
    found = likely_keys(chords.split())
    return "; ".join(f"{each.key} {each.score:.3f} ({each.reason})" for each in found)


def numerals(asked: str) -> str:
    """A chord's place in a key, as a Roman numeral and as a plain number: "chord in key"."""
    chord, key = asked.split(" in ")
    return f"{roman_numeral(chord, key)} {plain_number(chord, key)}"


def tunings(name: str) -> str:
    """The strings of a usual tuning by any of its names, and the kind of instrument."""
    found = find_tuning(name)
    strings = ("/".join(map(midi_to_name, each.course_midi)) for each in found.strings)
    starts = [each.start for each in found.strings]
    return f"{found.name}: {' '.join(strings)} from {starts} ({found.kind})"


def drums(word: str) -> str:
    """A piece of the kit by any of its names."""
    found = piece_called(word)
    if found is None:
        return "no piece"
    more = ", cross" * found.cross + ", feet" * found.feet
    return f"{found.name}: {found.midi} on {found.place}{more}"


def instruments(kind: str) -> str:
    """How far an instrument reaches, and how it transposes."""
    found = compass_of(kind)
    if found is None:
        return "not known"
    return f"{found.low} to {found.high}, {found.transposition:+d}"


def fingerings(asked: str) -> str:
    """Ways to finger a chord: "chord | tuning | capo", with how far each is from easy."""
    chord, tuning, capo = asked.split(" | ")
    found = find_voicings(chord, find_tuning(tuning), _capos(capo))
    return f"{len(found)}: " + "; ".join(map(_said, found[:_SHOWN]))


def near(asked: str) -> str:
    """Ways to finger a chord close to a recorded one: "chord | tuning | capo | frets"."""
    chord, tuning, capo, frets = asked.split(" | ")
    strung, capos = find_tuning(tuning), _capos(capo)
    at = _position(frets, strung, capo)
    found = find_voicings(chord, strung, capos, near=at)
    return f"{len(found)}: " + "; ".join(map(_said, found[:_SHOWN]))


def fingers(asked: str) -> str:
    """The fingers proposed for a shape: "frets | tuning"."""
    frets, tuning = asked.split(" | ")
    found = propose_fingers(_position(frets, find_tuning(tuning), "0"))
    return "none" if found is None else " ".join(each or "-" for each in found)


def capos(asked: str) -> str:
    """The capo table of some chords: "chords | key or -": by row its choice, reason and shapes."""
    chords, key = asked.split(" | ")
    standard = find_tuning("standard")
    recorded = [RecordedChord(chord) for chord in chords.split()]
    rows = capo_table(recorded, standard, key=None if key == "-" else key)
    return "; ".join(
        f"{row.capos or 'none'}: {row.choice} ({row.why}) "
        + " ".join(f"{each.shape}={each.from_capo}" for each in row.chords)
        for row in rows
    )


def changes(asked: str) -> str:
    """What the hand does from shape to shape: "frets frets ... | tuning | capo"."""
    shapes, tuning, capo = asked.split(" | ")
    strung, on = find_tuning(tuning), _capos(capo)
    voicings = [describe(frets, strung, on, counted="capo") for frets in shapes.split()]
    return "; ".join(_change(before, after) for before, after in pairwise(voicings))


def verdicts(asked: str) -> str:
    """What a written name is against notes: "symbol | notes in semitones above C"."""
    symbol, steps = asked.split(" | ")
    found = judge(symbol, [48 + int(step) for step in steps.split()])
    return f"{found.word}: {found.sentence}"


def strung(text: str) -> str:
    """What a tuning that is typed out is taken for."""
    found = parse_tuning(text)
    return f"{found.name}: {' '.join(str(each.midi) for each in found.strings)} ({found.kind})"


def sounds(asked: str) -> str:
    """Where strings are stopped and what they sound: "frets | tuning | capo", from the capo."""
    frets, tuning, capo = asked.split(" | ")
    strung = find_tuning(tuning)
    at = _position(frets, strung, capo)
    notes = " ".join("x" if note is None else str(note) for note in sounding_midi(at, strung))
    shape = " ".join("x" if note is None else str(note) for note in shape_midi(at, strung))
    return f"from the nut {count_frets(at).text}, sounds {notes}, as a shape {shape}"


def ornaments(text: str) -> str:
    """Ornaments, written out."""
    return write_ornaments(read_ornaments(text, strings=6))


def strokes(asked: str) -> str:
    """A picking pattern: "line | grid | meter | swing", as it is written and when it strikes."""
    line, grid, meter, swing = asked.split(" | ")
    found = read_pattern(line, grid, parse_meter(meter), swing)
    starts = " ".join(f"{step}:{cell}" for step, cell in single_cells(found.cells))
    return f"{pattern_text(found)} in {grid_text(found.grid)}, {swing_text(found.swing)}; {starts}"


def tunes(text: str) -> str:
    """A melody's notes with their lengths, as it is written back, and the bars they fill."""
    found = read_tune(text)
    notes = " ".join(f"{n.name}:{n.length}{'~' * n.tied}" for n in found)
    return f"{tune_text(found)}; {notes}; {length_of(found)} whole notes"


def kinds(name: str) -> str:
    """What a kind of instrument is like: scale, frets, where a capo goes, its tuning."""
    found = find_kind(name)
    return (
        f"{found.scale_mm:g} mm, {found.frets} frets, clear to {found.clear_frets}, {found.tuning}"
    )


def tempos(asked: str) -> str:
    """When bars begin: "meters | tempos | pick-up", lines apart by commas."""
    meters, changes, pickup = asked.split(" | ")
    found = read_tempo_map(meters.split(", "), changes.split(", "), "" if pickup == "-" else pickup)
    seconds = " ".join(f"{float(found.seconds_at(BarPoint(bar))):.6f}" for bar in range(1, 10))
    said = "; ".join((*meter_lines(found), *tempo_lines(found), pickup_text(found)))
    return f"{said}: {seconds}"


def _change(before: SoundingVoicing, after: SoundingVoicing) -> str:
    found = moves_between(before, after)
    moves = " ".join(f"{m.string}{m.kind}{m.before}>{m.after}({m.mm:.0f})" for m in found.moves)
    hand = f"hand {found.hand_frets} {found.hand_mm:.0f} mm, top {found.top}"
    stay = f"stays {found.stays} {found.fingers_stay} {found.fingers_slide}"
    return f"{moves}, {hand}, {stay}"


def _position(frets: str, tuning: StringTuning, capo: str) -> Position:
    return place_frets(read_frets(frets, counted="capo"), tuning, _capos(capo))


def _capos(capo: str) -> Capos:
    return read_capos(capo) if capo != "0" else ()


def _said(found: Fingering) -> str:
    shape = "".join("x" if fret < 0 else f"{fret:x}" for fret in found.shape)
    hand = f"{'*' * found.taught} {found.fingers}f {found.stretch_mm:.0f}mm"
    return f"{shape}@{found.low}{hand} {found.distance:.3f}"


ASKED: dict[str, Callable[[str], str]] = {
    each.__name__: each
    for each in (
        *(names, names_in_key, symbols, written, keys, numerals, tunings, drums, instruments),
        *(fingerings, near, fingers, capos, changes, sounds, ornaments, strokes, tunes, kinds),
        *(tempos, verdicts, strung, comps, drafts, placed, views, shifts, snapped),
        *(spellings, signs, grids, swings, meters, pitches, barres, ways, moved, tones),
        *(kits, cells, codes, hands, numbers, places, omissions),
    )
}


def answered(name: str) -> str:
    """Return a file of answers as it is drawn now, from the questions that stand in it."""
    lines = (FOLDER / f"{name}.txt").read_text(encoding="utf-8").splitlines()
    return "".join(f"{asked}{ARROW}{_answer(name, asked)}\n" for asked in map(question, lines))


def question(line: str) -> str:
    """Return the question of a line, without its answer."""
    return line.split(ARROW.rstrip())[0].rstrip()


def _answer(name: str, asked: str) -> str:
    try:
        return ASKED[name](asked)
    except LogbookError as error:
        return f"refused: {error.problem} ({error.remedy})"


if __name__ == "__main__":
    for each in ASKED:
        (FOLDER / f"{each}.txt").write_text(answered(each), encoding="utf-8")
        print(f"answered {each}")
