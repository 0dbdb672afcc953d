"""Changes from the recording: key, tempo, form, length, voicings, parts.

Each difference says what it is about, what the record has and what is played now, in words.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from logbook.arranging.arrange import ArrangedVersion
from logbook.arranging.hands import KEPT
from logbook.arranging.lengths import Lengths, length_text, lengths_of
from logbook.arranging.parts import PartPlan
from logbook.arranging.transposing import interval_of, part_interval, usual_up
from logbook.records.arrangements import ArrangedPart
from logbook.records.context import by_name, meters_of, tempo_map_of
from logbook.records.songs import Version
from logbook.strings.capo import write_capos
from logbook.timing.map_text import tempo_lines
from logbook.timing.tempo import bpm_text


class Difference(NamedTuple):
    """One difference: `about` ("key", "tempo", "guitar: capo" ...), the record's and the new."""

    about: str
    recorded: str
    now: str

    @property
    def text(self) -> str:
        """The difference in a line."""
        return f"{self.about}: {self.recorded or 'not said'} -> {self.now or 'none'}"


def differences(arranged: ArrangedVersion) -> tuple[Difference, ...]:
    """Return everything that differs from the record, key and tempo first, then the parts."""
    found = [*_song(arranged)]
    for plan in arranged.parts:
        found += _part(plan, arranged)
    return tuple(each for each in found if each.recorded != each.now)


def _song(arranged: ArrangedVersion) -> Iterator[Difference]:
    record, now = arranged.recorded, arranged.version
    if arranged.old_key and arranged.key and arranged.old_key != arranged.key:
        yield Difference("key", arranged.old_key.name, arranged.key.name + _moved(arranged.steps))
    yield Difference("tempo", tempo_text(record), tempo_text(now))
    yield Difference("meter", _meters(record), _meters(now))
    yield Difference("form", form_text(record), form_text(now))
    if now.pickup_beats != record.pickup_beats:
        yield Difference("pick-up", f"{record.pickup_beats} beats", "none")
    if record.tempos and now.tempos:
        lengths = lengths_of(arranged)
        if lengths.recorded is not None:
            yield Difference("length", length_text(lengths.recorded), total_text(lengths))
    if record.melody_low and record.melody_high:
        yield Difference(
            "melody",
            f"{record.melody_low} to {record.melody_high}",
            f"{now.melody_low} to {now.melody_high}",
        )


def _moved(steps: int) -> str:
    if not steps:
        return ", the same pitches spelled otherwise"
    word = "semitone" if abs(steps) == 1 else "semitones"
    return f", {abs(steps)} {word} {'up' if steps > 0 else 'down'}"


def total_text(lengths: Lengths) -> str:
    """The song's length, and that a vamp is still to be added."""
    vamps = f", plus the vamp ({', '.join(lengths.vamps)})" if lengths.vamps else ""
    return length_text(lengths.total) + vamps


def tempo_text(version: Version) -> str:
    """A version's tempos in a line: "q=112", or "1 q=120, 7 q=104"."""
    bars = tempo_map_of(version)
    return "" if bars is None else ", ".join(map(rounded_tempo, tempo_lines(bars)))


def rounded_tempo(line: str) -> str:
    """A tempo, or a line of them, as its figures are printed everywhere: "q=76.95"."""
    head, equals, number = line.partition("=")
    pieces = []
    for piece in number.split(">"):
        try:
            value = float(piece) if "/" not in piece else _quotient(piece)
        except ValueError:
            return line
        pieces.append(bpm_text(value))
    return f"{head}{equals}{'>'.join(pieces)}"


def _quotient(text: str) -> float:
    top, _, bottom = text.partition("/")
    return float(top) / float(bottom)


def _meters(version: Version) -> str:
    meters = meters_of(version)
    if len(meters) == 1:
        return str(meters[0].meter)
    return ", ".join(f"{change.meter} from bar {change.bar}" for change in meters)


def form_text(version: Version) -> str:
    """A version's form in a line: "intro 2, verse 4, chorus 4 x2", lengths in bars."""
    runs: list[tuple[str, int, int]] = []
    for section in sorted(version.form, key=lambda each: each.start):
        if runs and runs[-1][:2] == (section.name, section.bars):
            runs[-1] = (section.name, section.bars, runs[-1][2] + 1)
        else:
            runs.append((section.name, section.bars, 1))
    return ", ".join(
        f"{name} {bars}" + (f" x{times}" if times > 1 else "") for name, bars, times in runs
    )


def _part(plan: PartPlan, arranged: ArrangedVersion) -> Iterator[Difference]:
    about = plan.name
    if plan.part is None:
        yield Difference(about, "played", "left out")
        return
    record, now = plan.recorded, plan.part
    yield Difference(f"{about}: player", record.player, now.player)
    yield Difference(f"{about}: instrument", record.instrument, now.instrument)
    if plan.before and plan.after:
        old, new = plan.before, plan.after
        if old.tuning.open_midi != new.tuning.open_midi:
            yield Difference(
                f"{about}: tuning",
                f"{old.tuning.name} ({old.tuning.text})",
                f"{new.tuning.name} ({new.tuning.text})",
            )
        yield Difference(f"{about}: capo", write_capos(old.capos), write_capos(new.capos))
    if plan.said.written_for:
        instrument = by_name(arranged.log.instruments, record.instrument)
        unsaid = plan._replace(said=ArrangedPart(part=plan.name))
        was = interval_of(unsaid, instrument, plan.before, usual_up(arranged.log, record))
        if was.semitones != part_interval(arranged, plan).semitones:
            before = was.name if was.semitones % 12 else "concert pitch"
            yield Difference(f"{about}: written for", before, plan.said.written_for)
    yield from _voicings(plan)


def _voicings(plan: PartPlan) -> Iterator[Difference]:
    """Voicings under the hand that changed; names alone follow from the key."""
    if plan.way is None or plan.part is None:
        return
    states = {hand.label: hand.state for hand in plan.way.hands}
    for old, new in zip(plan.recorded.voicings, plan.part.voicings, strict=True):
        state = states.get(old.label)
        if state is not None and state != KEPT:
            counted = old.counted or plan.recorded.counted
            yield Difference(
                f"{plan.name}: voicing {old.label}",
                f"{old.frets} from the {counted}",
                f"{new.label}: {new.frets} from the {counted}, {state}",
            )


def kept_text(kept: int, count: int) -> str:
    """How many voicings stay fret for fret: "all 5 voicings stay fret for fret"."""
    if count == 1:
        return "the one voicing stays fret for fret" if kept else "the one voicing changes"
    if kept == count:
        return f"all {count} voicings stay fret for fret"
    return f"{kept or 'none'} of {count} voicings stay fret for fret"
