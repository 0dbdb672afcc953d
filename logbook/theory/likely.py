"""The likely keys of a list of chords, ranked, with a reason each.

Each chord is worth a point in a key that holds all its notes, less where the key borrows it: the
dominant of a degree (more where it leads there), the parallel key's chord, a leading diminished
chord, the seventh of a blues tonic or subdominant. To the average come the places where a key shows
itself: the first and the last chord, dominant to tonic, a last chord that leads back to the first.
A dorian, phrygian or mixolydian key is listed where the chords begin on its tonic and turn around
what sets it apart. (Judgement; common practice, no source.)
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import NamedTuple

from logbook.errors import LogbookError
from logbook.theory.chord_symbol import ChordSymbol
from logbook.theory.keys import ALL_KEYS, MAJOR, MINOR, Key, keys_of
from logbook.theory.notes import name_to_fifths
from logbook.theory.symbols import read_symbol

_DIATONIC, _BLUES, _LED, _SECONDARY = 1.0, 0.8, 0.85, 0.5
_RAISED, _MINOR_SUBDOMINANT, _BORROWED, _SLIDING = 0.7, 0.65, 0.5, 0.6
_LAST, _FIRST, _TONIC_HEARD = 0.25, 0.26, 0.05
_FINAL_CADENCE, _CADENCE, _LEADS_BACK = 0.2, 0.08, 0.15
_PLAGAL, _MINOR_PLAGAL, _FROM_BELOW = 0.05, 0.15, 0.05
_ROUND = 0.1  # a vamp does not end, it goes round
_MODAL = -0.12  # a church mode has to show itself
_MODES = ("dorian", "phrygian", "mixolydian")


class LikelyKey(NamedTuple):
    """A key, how well it explains the chords (about 0 to 1.7), and why in a sentence."""

    key: Key
    score: float
    reason: str


def likely_keys(chords: Sequence[str], limit: int = 5) -> tuple[LikelyKey, ...]:
    """The keys that explain these chord symbols best, best first, at most `limit` of them.

    Of two keys that sound the same the one spelled like the chords is given. Raises LogbookError
    when no chord is given or one cannot be read.
    """
    symbols = [symbol for symbol in map(read_symbol, chords) if not symbol.is_no_chord]
    if not symbols:
        raise LogbookError("there is no chord to find a key for", "give at least one chord symbol")
    places = [name_to_fifths(symbol.root) for symbol in symbols]
    centre = sum(places) / len(places)
    found: dict[tuple[int, str], tuple[float, float, Key]] = {}
    for key in (*ALL_KEYS, *_modal_keys(symbols)):
        far = abs(key.fifths + 2 - centre)  # the roots of a key centre two fifths above C's F
        sound = (key.pitch_class, key.mode)
        if sound not in found or far < found[sound][0]:
            found[sound] = (far, _score(symbols, key), key)
    ranked = sorted(found.values(), key=lambda item: (-item[1], item[0]))
    return tuple(
        LikelyKey(key, round(score, 3), _reason(symbols, key)) for _, score, key in ranked[:limit]
    )


def _modal_keys(symbols: Sequence[ChordSymbol]) -> Iterator[Key]:
    """The church modes that the chords may be in: they begin on the tonic and stay within."""
    first = symbols[0]
    notes = set[int]().union(*map(_notes, symbols))
    for mode in _MODES:
        for key in keys_of(mode):
            if _is_tonic(first, key) and notes <= key.pitch_classes and _shows(symbols, key):
                yield key


def _shows(symbols: Sequence[ChordSymbol], key: Key) -> bool:
    """Whether the chords turn around what sets a mode apart from plain major or minor."""
    above = {((symbol.root_pc or 0) - key.pitch_class) % 12 for symbol in symbols}
    sixth = (key.pitch_class + 9) % 12
    if key.mode == "dorian":
        return any(sixth in _notes(symbol) for symbol in symbols[1:] if symbol.root != key.tonic)
    if key.mode == "phrygian":
        return 1 in above
    minor_dominant = any(
        symbol.root_pc == (key.pitch_class + 7) % 12 and "b3" in symbol.degrees
        for symbol in symbols
    )
    return 10 in above and (above == {0, 10} or minor_dominant)


def _notes(symbol: ChordSymbol) -> set[int]:
    return {((symbol.root_pc or 0) + interval) % 12 for interval in symbol.intervals}


def _score(symbols: Sequence[ChordSymbol], key: Key) -> float:
    score = sum(_fits(symbols, key)) / len(symbols)
    first, last = _at_home(symbols[0], key), _at_home(symbols[-1], key)
    score += (_ROUND if _goes_round(symbols) else _LAST) * last + _FIRST * first
    score += _TONIC_HEARD * any(_is_tonic(symbol, key) for symbol in symbols)
    if last and len(symbols) > 1 and _is_dominant(symbols[-2], key):
        score += _FINAL_CADENCE * last
    elif last and len(symbols) > 1 and _is_subdominant(symbols[-2], key):
        score += _MINOR_PLAGAL if 3 in symbols[-2].intervals and not key.is_minor else _PLAGAL
    elif last and len(symbols) > 1 and _is_below(symbols[-2], key):
        score += _FROM_BELOW
    elif _cadence(symbols, key):
        score += _CADENCE
    if first and not last and (_is_dominant(symbols[-1], key) or _slides(symbols[-1], symbols[0])):
        score += _LEADS_BACK
    return score + (_MODAL if key.mode not in (MAJOR, MINOR) else 0.0)


def _goes_round(symbols: Sequence[ChordSymbol]) -> bool:
    """Whether the chords are a shorter row of them, two at least, said again."""
    count = len(symbols)
    return any(
        count % size == 0 and list(symbols) == list(symbols[:size]) * (count // size)
        for size in range(2, count // 2 + 1)
    )


def _is_subdominant(symbol: ChordSymbol, key: Key) -> bool:
    return symbol.root_pc == (key.pitch_class + 5) % 12


def _is_below(symbol: ChordSymbol, key: Key) -> bool:
    """A chord a whole tone below the tonic, as in F G Am."""
    return symbol.root_pc == (key.pitch_class + 10) % 12


def _fits(symbols: Sequence[ChordSymbol], key: Key) -> list[float]:
    """How well each chord belongs to a key, 0 to 1; after the last comes the first again."""
    return [
        _fit(symbol, then, key)
        for symbol, then in zip(symbols, [*symbols[1:], symbols[0]], strict=True)
    ]


def _fit(symbol: ChordSymbol, then: ChordSymbol, key: Key) -> float:
    scale, notes = key.pitch_classes, _notes(symbol)
    root = symbol.root_pc or 0
    above = (root - key.pitch_class) % 12
    if notes <= scale:
        return _DIATONIC
    leading, sixth = (key.pitch_class + 11) % 12, (key.pitch_class + 9) % 12
    if key.is_minor:
        if (above in (7, 11) and notes <= scale | {leading}) or _varied_tonic(symbol, key):
            return _DIATONIC
        if notes <= scale | {leading, sixth}:
            return _RAISED
    if _is_dominant(symbol, key):
        return _LED  # with tensions of its own
    dominant = {4, 10} <= symbol.intervals
    if dominant and not key.is_minor and above in (0, 5):
        return _BLUES
    return max(_applied(symbol, then, key), _from_the_parallel(symbol, key))


def _applied(symbol: ChordSymbol, then: ChordSymbol, key: Key) -> float:
    """The worth of a chord that leads to another degree of the key, 0 where it does not."""
    root, scale = symbol.root_pc or 0, key.pitch_classes
    if _can_lead(symbol) and (root + 5) % 12 in scale:
        if then.root_pc == (root + 5) % 12:
            return _LED
        return _SECONDARY if root in scale else 0.0
    if {3, 6} <= symbol.intervals and 10 not in symbol.intervals:
        return _LED if then.root_pc in ((root + 1) % 12, (root - 1) % 12) else _SECONDARY
    return _SLIDING if _slides(symbol, then) and then.root_pc in scale else 0.0


def _slides(symbol: ChordSymbol, then: ChordSymbol) -> bool:
    """A major chord that slides down a semitone into the next, as a dominant's stand-in."""
    return 4 in symbol.intervals and symbol.root_pc == ((then.root_pc or 0) + 1) % 12


def _from_the_parallel(symbol: ChordSymbol, key: Key) -> float:
    parallel = Key(key.tonic_fifths, MAJOR if key.is_minor else MINOR)
    if not _notes(symbol) <= parallel.pitch_classes:
        return 0.0
    fourth = symbol.root_pc == (key.pitch_class + 5) % 12
    return _MINOR_SUBDOMINANT if fourth and not key.is_minor else _BORROWED


def _varied_tonic(symbol: ChordSymbol, key: Key) -> bool:
    """A minor tonic with a raised sixth or seventh, as a line moves through it."""
    return symbol.root_pc == key.pitch_class and {3, 7} <= symbol.intervals


def _is_dominant(symbol: ChordSymbol, key: Key) -> bool:
    return symbol.root_pc == (key.pitch_class + 7) % 12 and _can_lead(symbol)


def _can_lead(symbol: ChordSymbol) -> bool:
    """Whether a chord could be a dominant: a major third, and no major seventh."""
    return 4 in symbol.intervals and 11 not in symbol.intervals


def _is_tonic(symbol: ChordSymbol, key: Key) -> bool:
    """A chord on the tonic with the key's third; one without a third may be either."""
    other = 4 if key.is_minor else 3
    return symbol.root_pc == key.pitch_class and other not in symbol.intervals


def _at_home(symbol: ChordSymbol, key: Key) -> float:
    """How much a chord is the tonic, 0 to 1: a seventh on it may as well lead on."""
    if not _is_tonic(symbol, key):
        return 0.0
    return 0.5 if {4, 10} <= symbol.intervals else 1.0


def _cadence(symbols: Sequence[ChordSymbol], key: Key) -> str:
    """The dominant and tonic that follow each other somewhere, or an empty text."""
    for first, then in pairwise(symbols):
        if _is_dominant(first, key) and _is_tonic(then, key):
            return f"{first.symbol} leads to {then.symbol}"
    return ""


def _reason(symbols: Sequence[ChordSymbol], key: Key) -> str:
    fits = _fits(symbols, key)
    outside = sorted({s.symbol for s, fit in zip(symbols, fits, strict=True) if fit < _DIATONIC})
    held = fits.count(_DIATONIC)
    if not outside:
        said = ["every chord lies in it"]
    elif held:
        verb = "lies" if held == 1 else "lie"
        said = [f"{held} of {len(symbols)} chords {verb} in it ({', '.join(outside)} outside)"]
    else:
        said = ["no chord lies wholly in it"]
    if _is_tonic(symbols[-1], key):
        said.append("it ends on the tonic")
    if _is_tonic(symbols[0], key):
        said.append("it starts on the tonic")
        if _is_dominant(symbols[-1], key):
            said.append(f"{symbols[-1].symbol} leads back to it")
    cadence = _cadence(symbols, key)
    return "; ".join([*said, cadence] if cadence else said)
