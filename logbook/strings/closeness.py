"""How close one voicing is to another, or how far from easy it is where none was recorded.

The weights are common sense (no source), in thousandths so that they add up exactly: what is easy
has few fingers and no barre, lies low on the neck, leaves out no string between those that
sound and no note of the chord, and has the chord's bass lowest. What is close leaves the hand
where it was, the strings sounding what they sounded, and the outer voices in their place; how
easy it is then counts a tenth.
"""

from collections.abc import Sequence
from typing import NamedTuple

SILENT = -1
"""The note of a string that is not played."""

_FINGER, _BARRE, _FRET_UP, _WIDE = 100, 60, 25, 30  # hundredths of a finger
_OUT_LOW, _OUT_HIGH, _OUT_BETWEEN = 70, 150, 250
_NOTE_MISSING, _OTHER_BASS = 150, 300
_STRING, _NOTE, _OUTER = 1000, 500, 250
_SMALL_FROM = 48  # MIDI note: ukuleles, mandolins and banjos have no string below it
_HAND_MM = 30.0  # the hand's way that counts as much as a string


class RecordedHand(NamedTuple):
    """The voicing that closeness is measured from.

    `notes` string by string (SILENT where not played), `sounds` with bit n set for MIDI note n,
    `middle_mm` where the fingers are on average, None where none is needed.
    """

    notes: tuple[int, ...]
    sounds: int
    middle_mm: float | None


class Measure:
    """Measures voicings, against a recorded one or against an easy one."""

    __slots__ = (
        "_claimed",
        "_ease",
        "_gripped",
        "_other_bass",
        "_outer",
        "_recorded",
        "between",
        "high_out",
        "low_out",
    )

    def __init__(
        self,
        bass: int | None,
        claimed: int,
        recorded: RecordedHand | None = None,
        *,
        lowest_open: int = 0,
    ) -> None:
        """Make ready; `lowest_open` is the MIDI note of the lowest open string.

        On a small instrument that lies above the bass every string is strummed and any note of
        the chord may be lowest. `bass` is the chord's lowest pitch class, `claimed` the mask of
        what its name claims.

        `low_out` and `high_out` are what a string left out costs below and above those that
        sound, `between` what it costs more than the latter where it lies between them.
        """
        small = lowest_open >= _SMALL_FROM
        self._other_bass = 0  # bit n set where MIDI note n is not the bass
        if bass is not None and not small:
            self._other_bass = sum(1 << note for note in range(128) if note % 12 != bass)
        self._gripped: dict[int, int] = {}
        self._claimed = claimed
        self._recorded = recorded
        before = 0 if recorded is None else recorded.sounds
        self._outer = (before & -before).bit_length(), before.bit_length()
        self._ease = ease = 10 if recorded is None else 1
        self.low_out = (_OUT_LOW + _FINGER * small) * ease
        self.high_out = (_OUT_HIGH + _FINGER * small) * ease
        self.between = (_OUT_BETWEEN - _OUT_HIGH) * ease

    def string(self, index: int, note: int) -> int:
        """What it costs that this string sounds this note (SILENT: none) and no other."""
        recorded = self._recorded
        return 0 if recorded is None or recorded.notes[index] == note else _STRING

    def hand(self, low: int, widths: Sequence[int], middles_mm: Sequence[float]) -> list[int]:
        """What it costs that the lowest finger is at fret `low` (0: none), by the reach in frets.

        `widths` are the reaches, `middles_mm` where the middle of the hand then is.
        """
        costs = []
        for width, middle_mm in zip(widths, middles_mm, strict=True):
            cost = (_FRET_UP * low + _WIDE * max(width - 2, 0)) * self._ease
            if low and self._recorded is not None and self._recorded.middle_mm is not None:
                cost += round(abs(middle_mm - self._recorded.middle_mm) / _HAND_MM * 1000)
            costs.append(cost)
        return costs

    def rest(self, fingers: int, barred: bool, sounds: int, have: int) -> int:
        """What fingers, notes and outer voices cost.

        `sounds` has a bit for each MIDI note, `have` one for each pitch class that sounds.
        """
        asked = have << 8 | fingers << 1 | barred
        cost = self._gripped.get(asked)
        if cost is None:
            cost = _FINGER * fingers + _NOTE_MISSING * (self._claimed & ~have).bit_count()
            self._gripped[asked] = cost = (cost + _BARRE * barred) * self._ease
        lowest = sounds & -sounds
        if lowest & self._other_bass:
            cost += _OTHER_BASS * self._ease
        if self._recorded is None:
            return cost
        low, high = self._outer
        outer = abs(lowest.bit_length() - low) + abs(sounds.bit_length() - high)
        return cost + _NOTE * (sounds ^ self._recorded.sounds).bit_count() + _OUTER * outer
