"""One bar of a part, in ten lines: what sounds there, on which frets, from which take and file.

For whoever asks months later. A chord that began in an earlier bar is named as going on; a section
nobody has charted says so. Times in files count from a file's beginning.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from typing import NamedTuple

from logbook.editing.comp import EditPiece
from logbook.editing.words import named
from logbook.errors import LogbookError
from logbook.records.context import section_at, uncharted
from logbook.records.part_view import PartView
from logbook.records.parts import ChartEntry, Take
from logbook.records.take_files import take_audio
from logbook.sheets.charts import count_text
from logbook.sheets.chords import chord_card
from logbook.timing.bars import BarPoint, BarRange, parse_range, parse_ranges


class BarRemark(NamedTuple):
    """One line: what it is about, and what there is to say."""

    about: str
    text: str


def bar_said(view: PartView, bar: int) -> tuple[BarRemark, ...]:
    """Everything the log knows about a bar of a part, a line for each thing.

    Raises LogbookError where the form has no such bar, or a text of the part cannot be read.
    """
    form = view.version.form
    section = section_at(view.version, bar)
    if form and section is None and bar != 0:
        last = max(each.start + each.bars - 1 for each in form)
        raise LogbookError(f"the form has no bar {bar}", f"it has bars 1-{last}")
    lines = [
        BarRemark("bar", _where(view, bar)),
        *_chords(view, bar),
        BarRemark("on", _instrument(view)),
    ]
    lines += list(_takes(view, bar))
    lines += [BarRemark("double", _double(view)), *_notes(view, bar)]
    return tuple(lines)


def _where(view: PartView, bar: int) -> str:
    section = section_at(view.version, bar)
    said = [str(bar)]
    if section is not None:
        last = section.start + section.bars - 1
        said.append(f"{section.name}, bar {bar - section.start + 1} of {section.bars} "
                    f"(bars {section.start}-{last})")  # fmt: skip
    if view.tempo_map is not None and bar >= view.tempo_map.first_bar:
        said.append(f"begins at {_clock(view.tempo_map.seconds_at(BarPoint(bar)))}")
        said.append(str(view.bars.meter_at(bar)))
    if section is not None and section.notes:
        said.append(section.notes)
    return "; ".join(said)


def _clock(seconds: Fraction) -> str:
    minutes, rest = divmod(float(seconds), 60)
    return f"{int(minutes)}:{rest:06.3f}"


def _chords(view: PartView, bar: int) -> Iterator[BarRemark]:
    chart = sorted(view.part.chart, key=lambda each: (each.bar, Fraction(each.beat)))
    here = [each for each in chart if each.bar == bar]
    section = section_at(view.version, bar)
    if not chart or (section is not None and section in uncharted(view.version, view.part)):
        yield BarRemark("sounds", "not charted yet")
        return
    before = [each for each in chart if each.bar < bar]
    playing: list[tuple[str, ChartEntry]] = []
    if before and not (here and Fraction(here[0].beat) == 1):
        playing.append(("goes on", before[-1]))
    playing += [(f"on {count_text(Fraction(each.beat))}", each) for each in here]
    voicings = {each.label: each for each in view.part.voicings}
    sounds, frets = [], []
    for when, entry in playing:
        record = voicings.get(entry.voicing)
        if record is None:
            sounds.append(f"{'rests' if not entry.voicing else entry.voicing} ({when})")
            continue
        card = chord_card(view, record, view.tuning, view.capos)
        notes = " ".join(note for note in card.notes if note)
        shape = f", shape {card.shape}" if card.shape and card.shape != card.concert else ""
        sounds.append(f"{card.concert}{shape} ({when})" + (f": {notes}" if notes else ""))
        if record.frets:
            both = ""
            if card.from_nut and card.from_capo != card.from_nut:
                both = f" (nut {card.from_nut}, capo {card.from_capo})"
            frets.append(f"{record.label} {record.frets} from the {card.counted}{both}")
        else:
            frets.append(f"{record.label}: nobody has said its frets yet")
    yield BarRemark("sounds", "; ".join(sounds) or "nothing yet")
    if frets:
        yield BarRemark("frets", "; ".join(dict.fromkeys(frets)))
    pattern = next((e.pattern for e in reversed([*before, *here]) if e.pattern), "")
    line = next((each.line for each in view.part.patterns if each.label == pattern), "")
    if pattern:
        yield BarRemark("hand", f"{pattern}: {line}")


def _instrument(view: PartView) -> str:
    part = view.part
    said = [view.part.instrument or "instrument not said"]
    if view.tuning is not None:
        said.append(f"{view.tuning.name} tuning ({' '.join(view.tuning.open_names)})")
    said.append(f"capo {part.capo}" if part.capo else "no capo")
    said += [part.picked] if part.picked else []
    said += [f"played by {part.player}"] if part.player else []
    said += [f"chain: {part.chain}"] if part.chain else []
    return ", ".join(said)


def _takes(view: PartView, bar: int) -> Iterator[BarRemark]:
    """The take that is heard there, its punch-ins and files; without a comp, those that may be."""
    pieces = [each for each in view.pieces if bar in each.bars.bars]
    if view.comp is not None and not pieces:
        yield BarRemark("take", f"nothing of {view.comp.name} stands there")
        return
    if pieces:
        for piece in pieces:
            yield from _take_of_piece(view, piece, bar)
        return
    covering = [
        each for each in view.part.takes if each.bars and bar in parse_range(each.bars).bars
    ]
    kept = [each for each in covering if each.result == "keeper"] or covering
    if not kept:
        yield BarRemark("take", "no take of it is logged" if view.part.takes else "no take yet")
    for take in kept:
        yield BarRemark("take", f"{_take(take)}; no comp says which is heard")
        yield from _punched_and_files(view, take, bar)


def _take_of_piece(view: PartView, piece: EditPiece, bar: int) -> Iterator[BarRemark]:
    source = piece.source.start.bar + bar - piece.bars.start.bar
    if piece.take.is_elsewhere:
        yield BarRemark("take", f"{named(piece.take)}, bar {source} there")
        return
    record = next(
        (
            each
            for each in view.part.takes
            if each.number == piece.take.number and piece.take.session in ("", each.session)
        ),
        None,
    )
    own = "" if source == bar else f", from its bar {source}"
    if record is None:
        yield BarRemark("take", f"{piece.take.number}{own}; it is not logged")
        return
    again = [
        str(each.bars)
        for each in view.pieces
        if each is not piece and each.take == piece.take and source in each.source.bars
    ]
    heard = f"; the same bar is heard again in {', '.join(again)}" if again else ""
    yield BarRemark("take", f"{_take(record)}{own}{heard}")
    yield from _punched_and_files(view, record, source)


def _take(take: Take) -> str:
    said = [str(take.number), take.result or "not rated"]
    said += [f"session {take.session}"] if take.session else []
    return ", ".join(said) + (f": {take.notes}" if take.notes else "")


def _punched_and_files(view: PartView, take: Take, bar: int) -> Iterator[BarRemark]:
    punched = [each for each in take.punch_ins if bar in parse_range(each.bars).bars]
    for punch in punched:
        why = f", {punch.why}" if punch.why else ""
        yield BarRemark("punched", f"{punch.bars}, pass {punch.number}{why}")
    if not punched:
        yield BarRemark("punched", "no")
    files = [
        f"{audio.path} at {_clock(view.bars.seconds_at(BarPoint(bar)) - audio.starts_at)}"
        for audio in take_audio(view)
        if view.tempo_map is not None
        and (audio.take.number, audio.take.session) == (take.number, take.session)
    ]
    files = files or [each.path for each in take.files]
    if files:
        yield BarRemark("files", "; ".join(files))


def _double(view: PartView) -> str:
    part = view.part
    state = {"unknown": "nobody said whether it is doubled"}.get(part.doubled, part.doubled)
    by = " and ".join(each.part + (f" ({each.pan})" if each.pan else "") for each in part.doubles)
    said = f"{state} by {by}" if by else state
    if view.doubles:
        said += f"; it doubles {' and '.join(view.doubles)}"
    return said + (f": {part.doubled_why}" if part.doubled_why else "")


def _notes(view: PartView, bar: int) -> Iterator[BarRemark]:
    notes = [
        f"{each.text} (bars {each.bars})"
        for each in view.part.technique_notes
        if each.bars and any(_touches(span, bar) for span in parse_ranges(each.bars))
    ]
    notes += [each.text for each in view.part.technique_notes if not each.bars]
    if notes:
        yield BarRemark("notes", "; ".join(notes))


def _touches(span: BarRange, bar: int) -> bool:
    return bar in span.bars
