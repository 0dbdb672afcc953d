"""Where else the capo could go: for each position the shape key, the shapes, and what is kept.

Whole capos; where partial ones were on as well, each position is given with and without them, the
partial ones as far above the whole one as they were, so that the hand finds its shapes again.
A recorded voicing is kept fret for fret when every string it sounds can sound
the same note (or, in a new key, the note moved by the distance of the keys) at or above the new
capo on the same string, and a hand can hold it. Where the capo moves by exactly that distance
the shapes stay as they were. Any other chord is also given its easiest voicing there; strings
that ring open are counted over one voicing of each chord, the recorded shape where it stays.
"""

from collections.abc import Sequence
from typing import NamedTuple

from logbook.errors import LogbookError
from logbook.strings.capo import Capo, Capos, check_capos, string_stops, write_capos
from logbook.strings.finder import Fingering, Limits, find_voicings
from logbook.strings.fingering import barres_of, fingers_needed, propose_fingers, shape_of
from logbook.strings.frets import CAPO, NUT, Position, Stopped, count_frets
from logbook.strings.instruments import KINDS
from logbook.strings.stretch import fingered_frets, stretch_mm
from logbook.strings.tunings import StringTuning
from logbook.theory.keys import Key, as_key
from logbook.theory.symbols import ChordSymbol, read_symbol

_FAR_CAPO, _HIGH_FRET, _BARRE_STRINGS = 7, 12, 4
_OPEN_WORTH, _IN_HAND_WORTH = 0.15, 1.0  # in chords that want a barre
_UNTAUGHT_COST, _UNHELD_COST, _FAR_COST, _CAPO_FRET_COST = 0.6, 5.0, 1.5, 0.07
_CAPO_COST = 0.1


class RecordedChord(NamedTuple):
    """A chord as recorded: its concert name and, if one was logged, where it was fingered."""

    concert: str
    position: Position | None = None


class CapoChord(NamedTuple):
    """One chord at one capo position.

    `concert` is what sounds, `shape` what the hands call it. `from_capo` and `from_nut` are the
    frets of the recorded shape where it stays as it was, else of the easiest voicing, empty where
    the chord cannot be held at all; `open_strings` counts the strings that ring open in it.
    `kept` says whether the recorded voicing can be kept string for string (None where none was
    given), `kept_from_capo` with which frets, and `same_shape` whether those are the old ones.
    """

    concert: str
    shape: str
    from_capo: str
    from_nut: str
    open_strings: int
    kept: bool | None
    kept_from_capo: str
    same_shape: bool


class CapoRow(NamedTuple):
    """One capo position: `capo` is the whole one, 0 none; `capos` writes all that are on.

    `open_strings` and `barres` are sums over the chords, `highest_fret` is from the nut. `choice`
    is the place in the order in which a player would choose, 1 the first, and `why` says why.
    """

    capo: int
    capos: str
    shape_key: str
    chords: tuple[CapoChord, ...]
    open_strings: int
    kept: int
    same_shapes: bool
    barres: int = 0
    highest_fret: int = 0
    choice: int = 0
    why: str = ""


def by_choice(rows: Sequence[CapoRow]) -> tuple[CapoRow, ...]:
    """Return the rows of a table in the order in which a player would choose."""
    return tuple(sorted(rows, key=lambda row: row.choice))


def capo_table(
    chords: Sequence[str | RecordedChord],
    tuning: StringTuning,
    *,
    key: str | Key | None = None,
    new_key: str | Key | None = None,
    capos: Capos = (),
    highest: int | None = None,
    limits: Limits | None = None,
) -> tuple[CapoRow, ...]:
    """Return a row for each capo position from none to `highest` (the usual last: fret 9).

    They come in the order of the frets; `by_choice` puts them in a player's. Without a key the
    likely one of the chords gives the shape key.

    `chords` are concert names as recorded with `capos` on, in concert key `key`; with `new_key`
    they are moved there. A chord that comes twice is taken once. Raises LogbookError for a chord
    or key that cannot be read, a new key without the old one, or no chords at all.
    """
    wanted = _distinct(chords)
    old, new = (None if each is None else as_key(each) for each in (key, new_key))
    if new is not None and old is None:
        raise LogbookError(
            f"the way to {new.name} is unknown without the key the chords are in",
            "give the concert key they were played in as well",
        )
    steps = 0 if old is None or new is None else (new.pitch_class - old.pitch_class) % 12
    home = new or old or _likely_key(wanted)
    limits = limits or Limits()
    kind = KINDS.get(tuning.kind, KINDS["guitar"])
    last = min(9, kind.clear_frets) if highest is None else highest
    check_capos((Capo(max(last, 1)),), tuning)
    rows = []
    for capo in range(last + 1):
        for on in _put_on(capo, capos, kind.clear_frets):
            rows.append(_row(capo, on, wanted, tuning, capos, (old or home, home), steps, limits))
    return _chosen(rows)


def _chosen(rows: Sequence[tuple[CapoRow, float]]) -> tuple[CapoRow, ...]:
    """Give every row its place in a player's order, and say why."""
    order = sorted(range(len(rows)), key=lambda number: (rows[number][1], number))
    place = {number: at for at, number in enumerate(order, start=1)}
    fewest = min(row.barres for row, _ in rows)
    most = max(row.open_strings for row, _ in rows)
    return tuple(
        row._replace(choice=place[number], why=_why(row, row.barres == fewest, most))
        for number, (row, _) in enumerate(rows)
    )


def _why(row: CapoRow, fewest: bool, most: int) -> str:
    said = ["the recorded shapes"] if row.same_shapes and row.kept else []
    if any(not chord.from_capo for chord in row.chords):
        said.append("not every chord can be held")
    barres = (
        f"{row.barres} {'barre' if row.barres == 1 else 'barres'}" if row.barres else "no barre"
    )
    said.append(f"{barres}, the fewest" if fewest and row.barres else barres)
    rings = f"{row.open_strings} open {'string' if row.open_strings == 1 else 'strings'}"
    said.append(f"{rings}, the most" if row.open_strings == most and most else rings)
    if row.highest_fret > _HIGH_FRET:
        said.append(f"goes up to fret {row.highest_fret}")
    else:
        said.append(f"no fret above {row.highest_fret}" if row.highest_fret else "no fret needed")
    if row.capo > _FAR_CAPO:
        said.append(f"a capo at {row.capo} is far up the neck")
    return ", ".join(said)


def _cost(row: CapoRow, taught: int) -> float:
    """What a row costs a player; the weights are in chords that want a barre."""
    count = len(row.chords)
    cost = (row.barres - _OPEN_WORTH * row.open_strings) / count
    cost += _UNTAUGHT_COST * (count - taught) / count
    cost += sum(_UNHELD_COST for chord in row.chords if not chord.from_capo)
    cost += _CAPO_COST * bool(row.capo) + _CAPO_FRET_COST * row.capo
    cost += _FAR_COST if row.capo > _FAR_CAPO else 0.0
    cost += _FAR_COST if row.highest_fret > _HIGH_FRET else 0.0
    recorded = sum(chord.kept is not None for chord in row.chords)
    same = sum(chord.same_shape for chord in row.chords)
    return cost - (_IN_HAND_WORTH * same / recorded if recorded else 0.0)


def _likely_key(chords: list[tuple[ChordSymbol, Position | None]]) -> Key | None:
    """Return the key to spell by where none is known: the likely one, or a chord's own."""
    if len(chords) < 2:
        symbol = chords[0][0]
        return as_key(symbol.root + ("m" if "b3" in symbol.degrees else ""))
    from logbook.theory.likely import likely_keys

    return likely_keys([symbol.symbol for symbol, _ in chords], 1)[0].key


def _put_on(capo: int, recorded: Capos, clear_frets: int) -> list[Capos]:
    """Return what may be on with a whole capo there: it alone, and with the partial ones moved."""
    whole: Capos = (Capo(capo),) if capo else ()
    partial = [each for each in recorded if each.strings is not None]
    before = max((each.fret for each in recorded if each.strings is None), default=0)
    moved = [each._replace(fret=each.fret - before + capo) for each in partial]
    if not moved or any(not capo < each.fret <= clear_frets for each in moved):
        return [whole]
    return [whole, (*whole, *moved)]


def _distinct(chords: Sequence[str | RecordedChord]) -> list[tuple[ChordSymbol, Position | None]]:
    wanted: dict[RecordedChord, ChordSymbol] = {}
    for each in chords:
        chord = RecordedChord(each) if isinstance(each, str) else each
        symbol = read_symbol(chord.concert)
        if not symbol.is_no_chord:
            wanted.setdefault(chord._replace(concert=symbol.symbol), symbol)
    if not wanted:
        raise LogbookError("there are no chords to finger", "give some, such as C Am F G")
    return [(symbol, chord.position) for chord, symbol in wanted.items()]


def _row(
    capo: int,
    on: Capos,
    chords: list[tuple[ChordSymbol, Position | None]],
    tuning: StringTuning,
    capos: Capos,
    keys: tuple[Key | None, Key | None],
    steps: int,
    limits: Limits,
) -> tuple[CapoRow, float]:
    """Return the row of a capo position, and what it costs a player."""
    old, home = keys
    shape_home = None if home is None else home.transpose(-capo)
    before, now = string_stops(tuning, capos), string_stops(tuning, on)
    full_length = [index for index, start in enumerate(tuning.starts) if start == 0]
    same_shapes = len({now[index] - before[index] for index in full_length}) == 1 and (
        (now[full_length[0]] - before[full_length[0]] - steps) % 12 == 0
    )
    cells = []
    barres = highest = taught = 0
    for symbol, recorded in chords:
        concert = symbol.transpose(steps, home, old=old) if home is not None else symbol
        shape = concert.transpose(-capo, shape_home, old=home)
        moved = None if recorded is None else keep(recorded, tuning, on, steps, limits=limits)
        same = recorded is not None and moved is not None and _alike(recorded, moved)
        held = moved
        if not same:
            found = easiest(concert, tuning, on, limits)
            held = moved if found is None else found.position
            taught += found is not None and found.taught
        else:
            taught += 1
        barres += 0 if held is None else has_barre(held)
        highest = max(highest, *fingered_frets(held)) if held and fingered_frets(held) else highest
        cells.append(
            CapoChord(
                concert.symbol,
                shape.symbol,
                "" if held is None else count_frets(held, CAPO).text,
                "" if held is None else count_frets(held, NUT).text,
                0 if held is None else open_strings(held),
                None if recorded is None else moved is not None,
                "" if moved is None else count_frets(moved, CAPO).text,
                same,
            )
        )
    row = CapoRow(
        capo,
        write_capos(on),
        "" if shape_home is None else shape_home.name,
        tuple(cells),
        sum(cell.open_strings for cell in cells),
        sum(cell.kept is True for cell in cells),
        same_shapes,
        barres,
        highest,
    )
    return row, _cost(row, taught)


def has_barre(position: Position) -> bool:
    """Say whether the index finger lies over four strings or more, or another over three."""
    fingers = propose_fingers(position)
    return fingers is not None and any(
        each.low - each.high >= (_BARRE_STRINGS if each.finger == "1" else _BARRE_STRINGS - 1) - 1
        for each in barres_of(fingers, position)
    )


def open_strings(position: Position) -> int:
    """Return how many strings ring open in a voicing."""
    return sum(at is not None and not at.fingered for at in position)


def keep(
    recorded: Position,
    tuning: StringTuning,
    capos: Capos,
    steps: int = 0,
    *,
    limits: Limits | None = None,
) -> Position | None:
    """Return the recorded voicing on the same strings under other capos, `steps` semitones on.

    They move the shorter way up or down, or the other where that leaves the neck. None where it
    cannot be kept: a note would lie behind a capo, past the last fret, or out of reach.
    """
    limits = limits or Limits()
    kind = KINDS.get(tuning.kind, KINDS["guitar"])
    last = kind.frets if limits.last_fret is None else limits.last_fret
    stops = string_stops(tuning, capos)
    for way in sorted((steps, steps - 12), key=abs) if steps else (0,):
        moved = _shift(recorded, stops, way, last)
        if moved is None or fingers_needed(shape_of(moved)) > limits.fingers:
            continue
        scale_mm = limits.scale_mm or kind.scale_mm
        if stretch_mm(fingered_frets(moved), scale_mm) <= limits.stretch_mm:
            return moved
    return None


def _shift(recorded: Position, stops: tuple[int, ...], steps: int, last: int) -> Position | None:
    moved: list[Stopped | None] = []
    for at, stop in zip(recorded, stops, strict=True):
        if at is None:
            moved.append(None)
            continue
        fret = at.fret + steps
        if fret < stop or fret > last or (at.harmonic and fret - stop != at.fret - at.stop):
            return None
        moved.append(Stopped(fret, stop, at.may_ring, at.harmonic))
    return tuple(moved)


def _alike(before: Position, after: Position) -> bool:
    return count_frets(before, CAPO).text == count_frets(after, CAPO).text


def easiest(
    chord: ChordSymbol, tuning: StringTuning, capos: Capos = (), limits: Limits | None = None
) -> Fingering | None:
    """Return the grip that is taught for a chord under these capos, else the easiest voicing.

    Of the latter those that leave nothing out come first. None where there is none.
    """
    found = find_voicings(chord, tuning, capos, limits=limits)
    if found and found[0].taught:
        return found[0]
    whole = chord.pitch_classes
    full = (each for each in found if {note % 12 for note in each.notes if note >= 0} == whole)
    return next(full, found[0] if found else None)
