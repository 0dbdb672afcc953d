"""Where the sound contradicts what was logged: bars weighed alone, and with those of their chord.

A stretch speaks against its logged grip as far as another reading is surer: the logarithm of
the ratio of their confidences, the logged one's never taken to be less than LEAST. Stretches that
were logged with the same notes are weighed together. Where most of them agree on one other
reading, the chord was logged wrong throughout, and all that hear it so are named. Otherwise a
stretch is named only where it speaks more clearly than the others of its chord do: what blurs
all of them alike (a string that hardly sounds) is no contradiction.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from math import exp, log

from logbook.listening.heard import Frets, HeardSpan, HeardVoicing, sounding

LEAST = 1e-3
CLEAR = log(2.5)  # how much surer another reading must be, for one stretch
THROUGHOUT = 0.6  # part of a chord's stretches that must agree, and at least two of them


@dataclass(frozen=True, kw_only=True, slots=True)
class Contradiction:
    """A stretch whose sound is not what was logged.

    place: which of the stretches, from 0. logged: what was written. heard: the reading that fits
    better, None where none of those asked for fits. sure: 0 to 1. throughout: the chord is heard
    so wherever it was logged.
    """

    place: int
    logged: Frets
    heard: HeardVoicing | None
    sure: float
    throughout: bool


def contradictions(
    heard: Sequence[HeardSpan],
    logged: Sequence[Frets | None],
    *,
    open_strings: Sequence[int],
    capo: int = 0,
) -> tuple[Contradiction, ...]:
    """Stretches that contradict the log, in order.

    heard: what `hear_part` says of each stretch, best with the part's own grips as `logged`.
    logged: what was written for each, None for nothing; silent stretches and those without are
    passed over. Raises ValueError where the two are not of one length.
    """
    groups: dict[tuple[int, ...], list[tuple[int, HeardVoicing | None, float]]] = defaultdict(list)
    for place, (span, grip) in enumerate(zip(heard, logged, strict=True)):
        if grip is None or span.silent:
            continue
        notes = sounding(grip, open_strings, capo)
        groups[notes].append((place, *_other(span, notes)))
    out: list[Contradiction] = []
    for notes, members in groups.items():
        other = _agreed(members)
        usual = _usual([speaks for _, _, speaks in members])
        for place, reading, speaks in members:
            throughout = other is not None and reading is not None and reading.notes == other
            against = speaks if throughout else speaks - usual
            grip = logged[place]
            if against < CLEAR or grip is None or (reading and reading.notes == notes):
                continue
            out.append(
                Contradiction(
                    place=place,
                    logged=grip,
                    heard=reading,
                    sure=1.0 / (1.0 + exp(-against)),
                    throughout=throughout,
                )
            )
    return tuple(sorted(out, key=lambda each: each.place))


def _usual(speaks: Sequence[float]) -> float:
    """How clearly even the quieter stretches of a chord speak against it; 0 for one or two."""
    return max(0.0, sorted(speaks)[len(speaks) // 4]) if len(speaks) > 2 else 0.0


def _other(span: HeardSpan, notes: tuple[int, ...]) -> tuple[HeardVoicing | None, float]:
    """The best reading with other notes, and how much surer it is than what was logged."""
    own = max((v.confidence for v in span.voicings if v.notes == notes), default=0.0)
    others = [v for v in span.voicings if v.notes != notes]
    if not others:
        return None, (-log(LEAST) if not span.voicings else log(LEAST))
    best = max(others, key=lambda voicing: voicing.confidence)
    return best, log(max(best.confidence, LEAST)) - log(max(own, LEAST))


def _agreed(
    members: Sequence[tuple[int, HeardVoicing | None, float]],
) -> tuple[int, ...] | None:
    """The other notes that most stretches of one chord agree on, if any."""
    votes: dict[tuple[int, ...], int] = defaultdict(int)
    for _, reading, speaks in members:
        if reading is not None and speaks > CLEAR:
            votes[reading.notes] += 1
    if not votes:
        return None
    notes, count = max(votes.items(), key=lambda item: item[1])
    return notes if count >= 2 and count >= THROUGHOUT * len(members) else None
