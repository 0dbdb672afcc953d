"""The likely keys of a list of chords, ranked, with a reason each.

Each chord is worth a point in a key that holds all its notes, less where the key borrows it: the
dominant of a degree, the parallel key's chord, the seventh of a blues tonic or subdominant. The
average is then helped by the places a key shows itself: last chord, first chord, dominant to tonic.
(Judgement; common practice, no source.)
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import NamedTuple

from logbook.errors import LogbookError
from logbook.theory.chord_symbol import ChordSymbol
from logbook.theory.keys import ALL_KEYS, Key
from logbook.theory.notes import name_to_fifths
from logbook.theory.symbols import read_symbol

_DIATONIC, _BLUES, _SECONDARY, _BORROWED = 1.0, 0.8, 0.6, 0.4
_LAST, _FIRST, _CADENCE, _TONIC_HEARD = 0.12, 0.08, 0.1, 0.05


class LikelyKey(NamedTuple):
    """A key, how well it explains the chords (about 0 to 1.35), and why in a sentence."""

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
    for key in ALL_KEYS:
        far = abs(key.fifths + 2 - centre)  # a key's own roots centre two fifths above its tonic
        sound = (key.pitch_class, key.mode)
        if sound not in found or far < found[sound][0]:
            found[sound] = (far, _score(symbols, key), key)
    ranked = sorted(found.values(), key=lambda item: (-item[1], item[0]))
    return tuple(
        LikelyKey(key, round(score, 3), _reason(symbols, key)) for _, score, key in ranked[:limit]
    )


def _score(symbols: Sequence[ChordSymbol], key: Key) -> float:
    score = sum(_fit(symbol, key) for symbol in symbols) / len(symbols)
    score += _LAST * _is_tonic(symbols[-1], key) + _FIRST * _is_tonic(symbols[0], key)
    score += _CADENCE * bool(_cadence(symbols, key))
    return score + _TONIC_HEARD * any(_is_tonic(symbol, key) for symbol in symbols)


def _fit(symbol: ChordSymbol, key: Key) -> float:
    """How well one chord belongs to a key, 0 to 1."""
    scale = key.pitch_classes
    notes = {((symbol.root_pc or 0) + interval) % 12 for interval in symbol.intervals}
    if notes <= scale:
        return _DIATONIC
    above = ((symbol.root_pc or 0) - key.pitch_class) % 12
    if key.is_minor and above in (7, 11) and notes <= scale | {(key.pitch_class + 11) % 12}:
        return _DIATONIC
    dominant = {4, 10} <= symbol.intervals
    if dominant and not key.is_minor and above in (0, 5):
        return _BLUES
    target = ((symbol.root_pc or 0) + 5) % 12
    if 4 in symbol.intervals and target in scale and (symbol.root_pc or 0) in scale:
        return _SECONDARY
    parallel = Key(key.tonic_fifths, "major" if key.is_minor else "minor")
    return _BORROWED if notes <= parallel.pitch_classes else 0.0


def _is_tonic(symbol: ChordSymbol, key: Key) -> bool:
    """A chord on the tonic with the key's third; one without a third may be either."""
    other = 4 if key.is_minor else 3
    return symbol.root_pc == key.pitch_class and other not in symbol.intervals


def _cadence(symbols: Sequence[ChordSymbol], key: Key) -> str:
    """The dominant and tonic that follow each other somewhere, or an empty text."""
    dominant = (key.pitch_class + 7) % 12
    for first, then in pairwise(symbols):
        if first.root_pc == dominant and 4 in first.intervals and _is_tonic(then, key):
            return f"{first.symbol} leads to {then.symbol}"
    return ""


def _reason(symbols: Sequence[ChordSymbol], key: Key) -> str:
    outside = sorted({symbol.symbol for symbol in symbols if _fit(symbol, key) < _DIATONIC})
    held = sum(_fit(symbol, key) == _DIATONIC for symbol in symbols)
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
    cadence = _cadence(symbols, key)
    return "; ".join([*said, cadence] if cadence else said)
