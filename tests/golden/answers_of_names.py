"""What small readers and tables answer, for `answers`: one function a file of questions."""

from __future__ import annotations

from logbook.crediting import identifiers
from logbook.editing.words import number_word
from logbook.strings import Limits, count_frets, find_tuning, find_voicings, read_capos, read_frets
from logbook.strings.alternatives import chord_ways
from logbook.strings.capo_table import has_barre
from logbook.strings.frets import place_frets
from logbook.strings.kit import CELL_NAMES, kit_text, read_kit
from logbook.strings.picking import grid_text, parse_grid, parse_swing, swing_text
from logbook.strings.picking_cells import SIGN_NAMES, STROKE_NAMES
from logbook.strings.ring import ordinal
from logbook.strings.tunings import at_pitch
from logbook.theory import parse_key, pitch_class
from logbook.theory.degrees import degree_note, degree_semitones, guide_tones
from logbook.theory.kinds import all_kinds, omission_cost
from logbook.theory.symbols import read_symbol
from logbook.theory.written import in_letters, in_solfege
from logbook.timing import parse_meter


def spellings(asked: str) -> str:
    """A name in letters: "text in spelling"."""
    text, spelling = asked.split(" in ")
    return f"{in_letters(text, spelling)} {in_solfege(text)}".strip()


def signs(sign: str) -> str:
    """What a stroke or a sign beside it is called."""
    return STROKE_NAMES.get(sign) or SIGN_NAMES.get(sign, "no sign")


def grids(text: str) -> str:
    """A grid as it is written back."""
    return grid_text(parse_grid(text))


def swings(text: str) -> str:
    """A swing as it is written back."""
    return swing_text(parse_swing(text))


def meters(text: str) -> str:
    """A meter, the length of its beats and where its groups begin."""
    found = parse_meter(text)
    felt = f"{found.felt_beats} felt beats of {found.felt_beat_length}"
    return f"{found}, beats of {found.beat_length}, {felt}, groups at {found.group_starts}"


def pitches(asked: str) -> str:
    """A tuning at another pitch: "A4 in hertz and cents off"."""
    a4_hz, cents = map(float, asked.split())
    found = at_pitch(find_tuning("standard"), a4_hz=a4_hz, offset_cents=cents)
    return f"{found.a4_hz:g} {found.offset_cents:g}"


def barres(frets: str) -> str:
    """Whether a shape takes a barre."""
    return str(has_barre(place_frets(read_frets(frets), find_tuning("standard"))))


def ways(asked: str) -> str:
    """Ways to play a chord, at most so many: "chord | most"."""
    chord, most = asked.split(" | ")
    found = chord_ways(chord, find_tuning("standard"), most=int(most))
    return "; ".join(" ".join("x" if n < 0 else str(n) for n in way.notes) for way in found)


def moved(asked: str) -> str:
    """A chord carried from key to key: "chord | from | semitones"."""
    chord, key, steps = asked.split(" | ")
    home = parse_key(key)
    new = home.transpose(int(steps))
    return f"{read_symbol(chord).transpose(int(steps), new, old=home).symbol} in {new}"


def tones(symbol: str) -> str:
    """The notes of a chord with their degrees, and its guide tones."""
    found = read_symbol(symbol)
    notes = [
        f"{degree_note(found.root, each)} {degree_semitones(each)} {ordinal(each)} "
        f"{pitch_class(degree_note(found.root, each))}"
        for each in found.degrees
    ]
    return f"{', '.join(notes)}; guide tones {' '.join(guide_tones(found.degrees))}"


def kits(asked: str) -> str:
    """A drummer's rows: "rows | grid | meter | swing", and when each piece is struck."""
    rows, grid, meter, swing = asked.split(" | ")
    found = read_kit(rows, grid, parse_meter(meter), "" if swing == "-" else swing)
    struck = (f"{row.piece.name} {row.cells}" for row in found.rows)
    hits = " ".join(f"{hit.start}:{hit.piece.midi}" for hit in found.hits())
    return f"{kit_text(rows)}: {'; '.join(struck)} in {found.grid}, swing {found.swing}: {hits}"


def cells(mark: str) -> str:
    """What a mark in a drummer's row is called."""
    return CELL_NAMES.get(mark, "no mark")


def codes(asked: str) -> str:
    """A code as it is kept and printed: "kind of code | text"."""
    kind, text = asked.split(" | ")
    read = getattr(identifiers, f"read_{kind.lower()}")
    printed = getattr(identifiers, f"format_{kind.lower()}")
    plain = read(text)
    return f"{plain}, {printed(plain)}, {printed(plain, letters=False)}"


def hands(asked: str) -> str:
    """Ways to finger a chord for a hand: "chord | tuning | mm it reaches | fingers | last fret"."""
    chord, tuning, reach_mm, fingers, last = asked.split(" | ")
    limits = Limits(
        stretch_mm=float(reach_mm),
        fingers=int(fingers),
        last_fret=None if last == "-" else int(last),
    )
    found = find_voicings(chord, find_tuning(tuning), (), limits=limits)
    shapes = ("".join("x" if n < 0 else f"{n:x}" for n in each.shape) for each in found[:6])
    return f"{len(found)}: {' '.join(shapes)}"


def numbers(count: str) -> str:
    """A count in words."""
    return number_word(int(count))


def places(asked: str) -> str:
    """Frets from the nut: "frets | capo | counted from"."""
    frets, capo, counted = asked.split(" | ")
    capos = read_capos(capo) if capo != "0" else ()
    line = read_frets(frets, counted=counted)
    return count_frets(place_frets(line, find_tuning("standard"), capos)).text


def omissions(suffix: str) -> str:
    """What each degree of a kind of chord costs that is left out, and how usual the kind is."""
    kind = next(each for each in all_kinds() if each.suffix == ("" if suffix == "-" else suffix))
    costs = " ".join(f"{each} {omission_cost(each, kind.degrees)}" for each in kind.degrees)
    return f"{kind.rarity}, {kind.fifths_above}, {'minor' if kind.minor else 'not minor'}: {costs}"
