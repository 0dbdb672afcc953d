"""An arranged form in the words of a road map: what is played, how often, and what is cut."""

from __future__ import annotations

from logbook.arranging.form import ENDING_WORDS, ArrangedForm, Passage

_STEPS = {1: "a semitone", 2: "a tone", 12: "an octave"}


def vamps_of(form: ArrangedForm) -> tuple[str, ...]:
    """Names of the sections whose length is open."""
    return tuple(dict.fromkeys(each.name for each in form.passages if each.vamp))


def road_map(form: ArrangedForm) -> tuple[str, ...]:
    """The form as a band reads it, a line each: "intro, bars 1-4", "chorus x2, bars 5-12"."""
    lines = []
    for passage in form.passages:
        if passage.number != 1:
            continue
        last = passage.start + passage.bars * passage.times - 1
        times = f" x{passage.times}" if passage.times > 1 else ""
        where = f"bar {last}" if last == passage.start else f"bars {passage.start}-{last}"
        words = "".join(f"; {each}" for each in passage_words(passage))
        lines.append(f"{passage.name}{times}, {where}{words}")
    return tuple(lines)


def passage_words(passage: Passage) -> tuple[str, ...]:
    """What a road map prints beside a section: its marks, key, jump, and how it ends."""
    moves = passage.moves
    words = [passage.note] if passage.note else []
    words += moves.marks
    if moves.key:
        words.append(f"in {moves.key}")
    if moves.steps:
        way = "up" if moves.steps > 0 else "down"
        words.append(f"{way} {_STEPS.get(abs(moves.steps), f'{abs(moves.steps)} semitones')}")
    if moves.meter:
        words.append(f"in {moves.meter}")
    if moves.last_beats:
        words.append(f"the last bar has {moves.last_beats} beats")
    if moves.rit_bars:
        bars = "the last bar" if moves.rit_bars == 1 else f"the last {moves.rit_bars} bars"
        words.append(f"rit. in {bars}, to {moves.rit_bpm:g}")
    if moves.ending:
        over = {0: "", 1: " over the last bar"}
        over_bars = over.get(moves.fade_bars, f" over the last {moves.fade_bars} bars")
        words.append(f"{ENDING_WORDS[moves.ending]}{over_bars}")
    if moves.jump and not passage.note.startswith("after the"):
        words.append(f"then {moves.jump}")
    return tuple(words)
