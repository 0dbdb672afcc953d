"""What the fretting hand does on one chord, and from one to the next, in words.

Frets are said the way the part counts them, and the other way in brackets where a capo is on.
How a string is kept quiet is common practice (no source): the finger on its neighbour leans
against it, the thumb reaches over for the lowest one.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import NamedTuple

from logbook.editing.words import listed
from logbook.sheets.chord_words import FINGERS
from logbook.sheets.chords import ChordCard, RingLine
from logbook.sheets.once import once
from logbook.strings.frets import CAPO, Stopped
from logbook.strings.moves import moves_between
from logbook.strings.ornaments import Ornament, read_ornaments
from logbook.strings.ring import ordinal
from logbook.strings.stretch import fingered_frets
from logbook.strings.voicing import SoundingVoicing, StringView
from logbook.theory.degrees import degree_note
from logbook.theory.symbols import read_symbol


class FingerWork(NamedTuple):
    """One finger's work: the players' numbers of its strings, and where it stops them."""

    finger: str
    strings: tuple[int, ...]
    at: Stopped


def strings_said(numbers: Iterable[int]) -> str:
    """Say strings as a player does: string 4, strings 5 and 3, strings 6 to 1."""
    given = sorted(set(numbers), reverse=True)
    if len(given) == 1:
        return f"string {given[0]}"
    if len(given) > 2 and given == list(range(given[0], given[-1] - 1, -1)):
        return f"strings {given[0]} to {given[-1]}"
    return f"strings {listed([str(number) for number in given])}"


def fret_said(fret: int, stop: int, counted: str, capo: bool) -> str:
    """Say a fret of the neck in the part's own count, and in the other where they differ."""
    if fret <= stop:
        return "open"
    above = fret - stop
    if not capo or not stop:
        return f"fret {fret}"
    if counted == CAPO:
        return f"fret {above} (neck {fret})"
    return f"fret {fret} (capo + {above})"


def held_by(voicing: SoundingVoicing) -> tuple[FingerWork, ...]:
    """Return what each finger holds, index first; empty where the fingers are not known."""
    found: dict[tuple[str, int], tuple[list[int], Stopped]] = {}
    count = len(voicing.position)
    fingers = voicing.fingers or (None,) * count
    for index, (at, finger) in enumerate(zip(voicing.position, fingers, strict=True)):
        if at is not None and at.fingered and finger:
            strings, _ = found.setdefault((finger, at.fret), ([], at))
            strings.append(count - index)
    return tuple(
        FingerWork(finger, tuple(strings), at)
        for (finger, _), (strings, at) in sorted(found.items())
    )


def fingers_said(card: ChordCard) -> tuple[str, ...]:
    """Say where each finger stands."""
    voicing = card.drawn
    if voicing is None:
        return ()
    capo = bool(voicing.capos)
    said = []
    for held in held_by(voicing):
        where = fret_said(held.at.fret, held.at.stop, card.counted, capo)
        lies = "lies across " if len(held.strings) > 1 else ""
        touch = ", touching only" if held.at.harmonic else ""
        name = FINGERS.get(held.finger, held.finger)
        said.append(f"{held.finger} {name}: {lies}{strings_said(held.strings)}, {where}{touch}")
    if not said and any(at is not None and at.fingered for at in voicing.position):
        count = len(voicing.position)
        said = [
            f"string {count - index}: {fret_said(at.fret, at.stop, card.counted, capo)}"
            for index, at in enumerate(voicing.position)
            if at is not None and at.fingered
        ]
    if not said:
        return ("none: every string that sounds is open",)
    if card.fingers_proposed:
        said.append("(suggested fingering)")
    return tuple(said)


def picked_said(voicing: SoundingVoicing) -> str:
    """Say which strings are picked."""
    played = [v.number for v in voicing.strings if v.state in ("fretted", "open", "harmonic")]
    if not played:
        return ""
    every = ", all of them" if len(played) == len(voicing.strings) > 1 else ""
    return strings_said(played) + every


def muted_said(card: ChordCard) -> tuple[str, ...]:
    """Say which strings must not sound, why, and how they are kept quiet."""
    voicing = card.drawn
    if voicing is None:
        return ()
    said = []
    met = set()
    for line in card.avoid:
        met.add(line.string)
        why = _why(line) or "the player keeps off it"
        said.append(f"string {line.string}: {why}; {_how(voicing, line.string)}")
    met.update(line.string for line in card.may_ring)
    silent = [number for number in voicing.not_played if number not in met]
    if silent:
        said.append(f"{strings_said(silent)}: not played")
    return tuple(said)


def ringing_said(card: ChordCard) -> tuple[str, ...]:
    """Say which unpicked or open strings may ring, and why."""
    said = []
    for line in card.may_ring:
        noted = ", as the player noted" if line.said else ""
        said.append(f"string {line.string}: {_why(line) or 'it may ring'}{noted}")
    return tuple(said)


def _why(line: RingLine) -> str:
    if not line.why:
        return line.note
    return (
        f"{line.note} is {line.why}"
        if line.why.startswith(("the ", "a "))
        else (f"{line.note}, {line.why}")
    )


def _how(voicing: SoundingVoicing, number: int) -> str:
    """How a string is kept quiet on this chord."""
    count = len(voicing.position)
    fingers = voicing.fingers or (None,) * count

    def finger_on(string: int) -> str | None:
        index = count - string
        at = voicing.position[index] if 0 <= index < count else None
        return fingers[index] if at is not None and at.fingered else None

    below, above = finger_on(number - 1), finger_on(number + 1)
    if below:
        return f"the tip of finger {below} can lean against it"
    if above:
        return f"lay finger {above} a little flatter, so that it touches it"
    if number == count:
        return "the thumb can touch it over the top of the neck"
    return "the picking hand leaves it out"


# Guide tones


def guide_tones_said(card: ChordCard) -> str:
    """Explain third and seventh on this very chord (common practice, no source)."""
    voicing = card.drawn
    if voicing is None:
        return ""
    if len({note % 12 for note in voicing.midi}) < 2:
        return "one note alone: whether the chord is major or minor is told by other parts"
    if voicing.chord.startswith("("):
        return "these notes make no chord with a name, so none of them is a guide tone"
    by_degree: dict[str, list[StringView]] = {}
    for view in voicing.strings:
        if view.degree and view.note and view.state != "may ring":
            by_degree.setdefault(view.degree, []).append(view)
    guides = list(dict.fromkeys(tone.degree for tone in card.guide_tones))
    guides = sorted((each for each in guides if each in by_degree), key=lambda each: "7" in each)
    root = read_symbol(voicing.chord).root
    if len(guides) == 2:
        tones = listed([f"the {ordinal(each)} {_where(by_degree[each])}" for each in guides])
        return f"{tones}; with {root} in the bass these two alone say {voicing.chord}"
    if guides:
        return (
            f"only the {ordinal(guides[0])} {_where(by_degree[guides[0]])}; the other is left out"
        )
    return _without_seventh(by_degree, root)


def _without_seventh(by_degree: dict[str, list[StringView]], root: str) -> str:
    for degree, color in (("3", "major"), ("b3", "minor")):
        if degree in by_degree:
            return (
                f"no seventh here, so the third alone tells the kind: "
                f"{_where(by_degree[degree])} makes it {color}"
            )
    for degree in ("4", "2"):
        if degree in by_degree:
            third = degree_note(root, "3")
            return (
                f"no third and no seventh: the {ordinal(degree)} {_where(by_degree[degree])} "
                f"stands in for the third and wants to move to {third}"
            )
    return "no third and no seventh: neither major nor minor"


def _where(views: Sequence[StringView]) -> str:
    return listed([f"{view.note} on string {view.number}" for view in views])


# Ornaments

_ORNAMENT_WAYS = {
    "hammer-on": "strike {string} {start}, then drop a finger on {end} without striking again",
    "pull-off": "strike {string} at {start}, then pull the finger off to {end}",
    "slide": "strike {string} at {start} and slide to {end} without lifting",
    "bend": "push {string} sideways at {start}",
    "trill": "strike {string} at {start}, then hammer on and pull off quickly to {end}",
    "vibrato": "rock the finger on {string} at {start}",
    "grace note": "strike {string} at {start} and go on to {end} at once",
}


def ornaments_said(card: ChordCard) -> tuple[str, ...]:
    """Say each ornament and how it is played."""
    voicing = card.drawn
    if voicing is None:
        return ()
    return tuple(
        f"{each.kind}: {_ornament_way(each, card, voicing)}"
        for each in read_ornaments(", ".join(card.ornaments))
    )


def _ornament_way(ornament: Ornament, card: ChordCard, voicing: SoundingVoicing) -> str:
    index = len(voicing.position) - ornament.string
    at = voicing.position[index] if 0 <= index < len(voicing.position) else None
    stop = at.stop if at is not None else 0

    def said(fret: int) -> str:
        neck = stop if fret == 0 else fret + (stop if card.counted == CAPO else 0)
        return fret_said(neck, stop, card.counted, bool(voicing.capos))

    way = _ORNAMENT_WAYS[ornament.kind].format(
        string=f"string {ornament.string}", start=said(ornament.start), end=said(ornament.end)
    )
    return way.replace("at open", "open")


# From one chord to the next


@once(512)  # the same two cards, in each section they stand in
def move_said(before: ChordCard, after: ChordCard) -> str:
    """Say how the hand gets from one chord to the next: what stays, what moves, what lifts."""
    was, now = before.drawn, after.drawn
    if was is None or now is None:
        return ""
    change = moves_between(was, now)
    capo = bool(now.capos)
    then = {held.finger: held for held in held_by(was)}
    next_ = {held.finger: held for held in held_by(now)}
    stay, go, come = [], [], []
    for finger, held in next_.items():
        old = then.get(finger)
        strings = strings_said(held.strings)
        fret = fret_said(held.at.fret, held.at.stop, after.counted, capo)
        if old is None:
            come.append(f"finger {finger} comes down on {strings}, {fret}")
        elif (old.strings, old.at.fret) == (held.strings, held.at.fret):
            stay.append(finger)
        elif old.strings == held.strings:
            go.append(f"finger {finger} slides along {strings} to {fret}")
        else:
            go.append(f"finger {finger} goes to {strings}, {fret}")
    lift = [finger for finger in then if finger not in next_]
    said = []
    if stay:
        said.append(_fingers(stay, "stays", "stay") + " down")
    elif then and next_:
        said.append("no finger stays")
    said += go + come
    if lift:
        said.append(_fingers(lift, "lifts", "lift"))
    if change.hand_frets and fingered_frets(was.position) and fingered_frets(now.position):
        way = "up" if change.hand_frets > 0 else "down"
        frets = abs(change.hand_frets)
        said.append(f"the hand moves {way} {frets} {'fret' if frets == 1 else 'frets'}, "
                    f"{change.hand_mm:.0f} mm")  # fmt: skip
    if change.stays:
        said.append(f"{strings_said(change.stays)} can ring on")
    return "; ".join(said) or "nothing moves"


def _fingers(fingers: Sequence[str], one: str, many: str) -> str:
    if len(fingers) == 1:
        return f"finger {fingers[0]} {one}"
    return f"fingers {listed(fingers)} {many}"
