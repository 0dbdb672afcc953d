"""Concert key against shape key and capo."""

from __future__ import annotations

from collections.abc import Iterator

from logbook.checking.problem import Problem, unreadable
from logbook.errors import LogbookError
from logbook.records.log import Log
from logbook.records.part_view import PartView, parts_of
from logbook.records.songs import Song
from logbook.strings.capo import whole_capo
from logbook.strings.tunings import StringTuning, find_tuning
from logbook.theory.keys import parse_key

_RULE = "key and capo"
_HOME_TUNINGS = ("standard", "seven-string", "bass", "five-string bass", "six-string bass")


def key_and_capo(log: Log, song: Song) -> Iterator[Problem]:
    """Yield shape keys that the capo does not bring to the concert key.

    A partial capo makes no shape key, and nothing is said about it.
    """
    for place in parts_of(log, song):
        if place.part.shape_key and place.version.key:
            try:
                yield from _part(place)
            except LogbookError as error:
                yield unreadable(_RULE, place.title, error)


def _part(place: PartView) -> Iterator[Problem]:
    tuning = place.tuning
    capo = whole_capo(tuning, place.capos) if tuning is not None else None
    if tuning is None or capo is None:
        return
    concert, shape = parse_key(place.version.key), parse_key(place.part.shape_key)
    sounding = shape.transpose(capo)
    for key in (sounding, sounding.transpose(_moved(tuning))):
        if key.pitch_classes == concert.pitch_classes:
            return  # relative keys have the same notes: who plays Em shapes may well say G
        if (key.pitch_class, key.is_minor) == (concert.pitch_class, concert.is_minor):
            return  # nor need who plays in A mixolydian say more than A
    on_neck = f"capo {capo}" if capo else "no capo"
    needed = (concert.pitch_class - shape.pitch_class) % 12
    right_shape = concert.transpose(-capo)
    mends = [f"the shape key would be {right_shape.name}"]
    if sounding.is_minor == concert.is_minor:
        mends.append(f"the capo would be at {needed}" if needed else "there would be no capo")
    yield Problem(
        _RULE,
        place.title,
        f"{shape.name} shapes with {on_neck} sound in {sounding.name}, "
        f"and the concert key is {concert.name}",
        f"each fret of the capo raises the key by a semitone ({capo} here)",
        " or ".join(mends),
    )


def _moved(tuning: StringTuning) -> int:
    """How many semitones a tuning lies above the usual one as a whole, 0 where it is another.

    Half a step down, players go on saying the shapes of the usual tuning (common practice, no
    source).
    """
    for name in _HOME_TUNINGS:
        home = find_tuning(name).open_midi
        moves = {own - usual for own, usual in zip(tuning.open_midi, home, strict=False)}
        if len(home) == len(tuning) and len(moves) == 1:
            return moves.pop()
    return 0
