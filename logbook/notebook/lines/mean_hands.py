"""What lines of the hands and the form come to: tempo, meter, key, form, voicings, chart."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from typing import TYPE_CHECKING, Any

from logbook.errors import LogbookError
from logbook.notebook.chart_lines import read_chart_lines
from logbook.notebook.declare import Context
from logbook.notebook.lines.facts import (
    ChartSaid,
    FormSaid,
    MeterSaid,
    PatternSaid,
    TempoSaid,
    VersionField,
    VoicingSaid,
    VoicingsSaid,
)
from logbook.notebook.lines.kinds import fold
from logbook.notebook.lines.page import Page
from logbook.notebook.lines.sounding import sound_of
from logbook.notebook.lines.words import is_bars, is_chord, ranges_of
from logbook.notebook.time_lines import meter_at, read_tempo_lines, tempo_line
from logbook.records import ChartEntry, FormSection, MeterChange, Part, Pattern, Voicing
from logbook.strings.picking import grid_text, parse_grid, read_pattern
from logbook.strings.picking_cells import read_cells, steps_of
from logbook.timing.bars import BarRange
from logbook.timing.map_text import read_pickup

if TYPE_CHECKING:
    from logbook.records.form_edits import Edited

GRIDS = ("1/8", "1/16", "1/8t", "1/4", "1/16t", "1/32", "1/4t")


class NothingKnown:
    """A log of nothing, for readers that only want the part at hand."""

    def names(self, noun: str) -> tuple[str, ...]:
        """Return nothing."""
        return ()

    def find(self, noun: str, name: str) -> Any:
        """Return nothing."""
        return None

    def add(self, noun: str, record: Any) -> None:
        """Take nothing in."""


def mean_tempo(said: TempoSaid, page: Page) -> None:
    """Set a tempo, in place of one that began at the same place."""
    version = page.version()
    place = said.place
    if place and not is_bars(place) and not place.replace(".", "").isdecimal():
        span = ranges_of(place, page.where)[0]
        place = str(span) if ">" in said.text else str(span.start.bar)
    read = read_tempo_lines(
        [f"{place or 1} {said.text}"], Context(known=NothingKnown(), owners=(page.song(), version))
    )
    if read.errors:
        raise read.errors[0][1]
    new = read.records[0]
    kept = [each for each in version.tempos if (each.bar, each.beat) != (new.bar, new.beat)]
    tempos = sorted([*kept, new], key=lambda each: (each.bar, Fraction(each.beat)))
    page.change_version(tempos=tuple(tempos))
    page.told.append(
        f"tempo {said.text}" if (new.bar, new.beat) == (1, "1") else f"tempo {tempo_line(new)}"
    )


def mean_meter(said: MeterSaid, page: Page) -> None:
    """Set a meter, in place of one that began at the same bar."""
    version = page.version()
    place = said.place or "1"
    bar = int(place) if place.isdecimal() else ranges_of(place, page.where)[0].start.bar
    kept = [each for each in version.meters if each.bar != bar]
    if bar > 1 and not any(each.bar == 1 for each in kept):
        kept.append(MeterChange(bar=1, meter="4/4"))
    meters = sorted([*kept, MeterChange(bar=bar, meter=said.meter)], key=lambda each: each.bar)
    page.change_version(meters=tuple(meters))
    page.told.append(f"{said.meter}" + (f" from bar {bar}" if bar > 1 else ""))


def mean_version_field(said: VersionField, page: Page) -> None:
    """Set the key, a pick-up, the reference pitch or the sample rate."""
    version = page.version()
    if said.field == "key":
        page.change_version(key=said.value)
        page.told.append(f"concert key {said.value}")
    elif said.field == "a4":
        page.change_version(a4_hz=float(said.value))
        page.told.append(f"tuned to A4 = {said.value} Hz")
    elif said.field == "rate":
        page.change_version(sample_rate_hz=int(said.value))
        page.told.append(f"recorded at {said.value} Hz")
    else:
        meter = meter_at(version, 1)
        wholes = read_pickup(said.value, meter)
        if wholes >= meter.bar_length:
            raise LogbookError(
                f"a pick-up of {said.value} fills a bar of {meter}", "make it shorter"
            )
        beats = str(wholes / meter.beat_length)
        page.change_version(pickup_beats=beats)
        page.told.append(f"a pick-up of {beats} beat{'s' * (beats != '1')} before bar 1")


def mean_form(said: FormSaid, page: Page) -> None:
    """Set the form, or add a section at its end; what stands in the old one is carried along."""
    version = page.version()
    old = page.where.form
    lengths = {fold(each.name): each.bars for each in old}
    sections: list[FormSection] = [] if said.whole else list(old)
    start = max((each.start + each.bars for each in sections), default=1)
    for each in said.sections:
        bars = each.bars or lengths.get(fold(each.name))
        if not bars:
            raise LogbookError(
                f"it is not clear how long {each.name} is", f"write {each.name} 8 bars"
            )
        lengths.setdefault(fold(each.name), bars)
        if each.bars:
            lengths[fold(each.name)] = bars
        if start + bars > 100_000:
            raise LogbookError("nobody plays that many bars", "write the bars of each section")
        sections.append(FormSection(name=each.name, start=start, bars=bars))
        start += bars
    if old and said.whole:
        from logbook.records.form_edits import restated

        edited = restated(version, tuple(sections))
        for part in edited.version.parts:
            before = next(each for each in version.parts if each.name == part.name)
            fields = _differing(before, part)
            if fields:
                page.change_other(before, **fields)
        page.change_version(form=edited.version.form, **_differing_version(version, edited.version))
        page.warnings += edited.told
        _carry_drawn(page, edited)
    else:
        page.change_version(form=tuple(sections))
        _fill_new(page, old)
    names = ", ".join(f"{each.name} {each.start}-{each.start + each.bars - 1}" for each in sections)
    page.told.append(f"form {names}")


def _carry_drawn(page: Page, edited: Edited) -> None:
    """Let comps of the song's other versions follow the bars they take from this one."""
    from logbook.records.form_pieces import drawn_along

    song = page.song()
    versions = []
    for other in song.versions:
        parts = other.parts
        if other.name != edited.version.name:
            parts = tuple(
                drawn_along(part, other.name, edited.version.name, edited.place, page.warnings)
                for part in other.parts
            )
        for before, after in zip(other.parts, parts, strict=True):
            for comp in after.comps:
                if comp not in before.comps:
                    page.write(comp, (song.title, other.name, before.name))
        versions.append(replace(other, parts=parts))
    page.where = replace(page.where, song=replace(song, versions=tuple(versions)))


def _fill_new(page: Page, old: tuple[FormSection, ...]) -> None:
    """A section that comes again is charted as its namesakes are."""
    from logbook.records.form_edits import fill_namesakes

    version = page.version()
    filled = fill_namesakes(version, {each.start for each in version.form} - {e.start for e in old})
    for part in filled.parts:
        before = next(each for each in version.parts if each.name == part.name)
        if part.chart != before.chart:
            page.change_other(before, chart=part.chart)


def _differing(old: Part, new: Part) -> dict[str, Any]:
    names = ("chart", "takes", "comps", "votes", "technique_notes", "overdubs", "reused")
    return {name: getattr(new, name) for name in names if getattr(old, name) != getattr(new, name)}


def _differing_version(old: Any, new: Any) -> dict[str, Any]:
    names = ("meters", "tempos")
    return {name: getattr(new, name) for name in names if getattr(old, name) != getattr(new, name)}


def mean_voicings(said: VoicingsSaid, page: Page) -> None:
    """Keep chords as they are fingered; one of the same name is replaced."""
    for each in said.voicings:
        _voicing(each, page)


def _voicing(said: VoicingSaid, page: Page) -> None:
    part = page.part()
    first = said.label.split()[0] if said.label else ""
    name = first if first != said.label and is_chord(first) and not is_chord(said.label) else ""
    new = Voicing(
        label=said.label,
        frets=said.frets,
        pitches=said.pitches,
        name=name,
        counted=said.counted if said.counted != part.counted else "",
        fingers=said.fingers,
        avoid=said.avoid,
        ring=said.ring,
        ornaments=said.ornaments,
    )
    sound = sound_of(new, part, page.where)
    if not new.label:
        if sound is None:
            raise LogbookError("this chord has no name", "write one before its frets")
        new = replace(new, label=sound.described.concert[0].symbol)
    old = next((each for each in part.voicings if each.label == new.label), None)
    kept = tuple(each for each in part.voicings if each.label != new.label)
    page.change_part(voicings=(*kept, new))
    if sound is not None:
        page.sounds.append(sound.text)
        if sound.against:
            page.warnings.append(sound.against)
    told = f"{new.label} {new.frets or new.pitches}"
    if old is not None and old.frets and old.frets != new.frets:
        told += f" (was {old.frets})"
    page.told.append(told)
    instrument = page.where.instrument
    if not part.voicings and not part.tuning and not (instrument and instrument.tuning) and sound:
        page.warnings.append(
            f"nobody said how {part.name} is tuned, so it is taken as"
            f" {sound.described.tuning.name}; to say otherwise: tuning DADGAD"
        )


def mean_chart(said: ChartSaid, page: Page) -> None:
    """Say what is played in a section, in every one of that name, or in bars."""
    part = page.part()
    form = page.where.form
    if (
        not is_bars(said.place)
        and said.place not in page.where.section_names
        and not _in_form(said, page)
    ):
        start = max((each.start + each.bars for each in form), default=1)
        section = FormSection(name=said.place, start=start, bars=len(said.bars))
        page.change_version(form=(*form, section))
        page.made.append(f"section {section.name}, {len(said.bars)} bars from bar {start}")
    spans = ranges_of(said.place, page.where)
    if is_bars(said.place) and "-" not in said.place:
        first = spans[0].start.bar
        spans = [BarRange(spans[0].start, spans[0].start._replace(bar=first + len(said.bars)))]
    _take_in_chords(said, page)
    part = page.part()
    entries = list(part.chart)
    for span in spans:
        length = len(span.bars)
        if said.bars == ("-",):
            said = replace(said, bars=("-", *["."] * (length - 1)))
        if len(said.bars) > length:
            raise LogbookError(
                f"{said.place} has {length} bars and this line has {len(said.bars)}",
                "write one chord a bar; | separates bars with more chords than one",
            )
        entries = _replaced(entries, _read_bars(said.bars, span.start.bar, page), span)
    page.change_part(chart=tuple(entries))
    short = len(spans[0].bars) - len(said.bars)
    if short:
        page.warnings.append(
            f"{said.place} has {len(spans[0].bars)} bars and this line has"
            f" {len(said.bars)}: the last {short} are not charted yet"
            + (f" (x{len(spans[0].bars) // len(said.bars)} repeats the line)"
               if len(spans[0].bars) % len(said.bars) == 0 else "")
        )  # fmt: skip
    where = ", ".join(map(str, spans))
    page.told.append(f"{part.name}, {said.place} (bars {where}): {' | '.join(said.bars)}")


def _in_form(said: ChartSaid, page: Page) -> bool:
    try:
        ranges_of(said.place, page.where)
    except LogbookError:
        return False
    return True


def _take_in_chords(said: ChartSaid, page: Page) -> None:
    """A chord that nobody has fingered yet stands in the chart by its name alone."""
    part = page.part()
    labels = {each.label for each in part.voicings}
    new: list[str] = []
    for word in " ".join(said.bars).split():
        label = word.partition("@")[0].rpartition(":")[2]
        if label and label not in (".", "%", "-") and label not in labels and label not in new:
            new.append(label)
    if new:
        page.change_part(
            voicings=(*part.voicings, *(Voicing(label=each, frets="") for each in new))
        )
        page.warnings.append(f"no frets yet for {', '.join(new)}")


def _read_bars(bars: tuple[str, ...], start: int, page: Page) -> list[ChartEntry]:
    line = f"{start}-{start + len(bars) - 1}: {' | '.join(bars)}"
    owners = (page.song(), replace(page.version(), form=()), page.part())
    read = read_chart_lines([line], Context(known=NothingKnown(), owners=owners))
    if read.errors:
        raise read.errors[0][1]
    return list(read.records)


def _replaced(old: list[ChartEntry], new: list[ChartEntry], span: BarRange) -> list[ChartEntry]:
    """Put new entries in place of those in the bars; the pattern they began with stays."""
    gone = [each for each in old if each.bar in span.bars]
    kept = [each for each in old if each.bar not in span.bars]
    pattern = next((each.pattern for each in gone if each.pattern), "")
    if pattern and new and not any(each.pattern for each in new):
        new = [replace(new[0], pattern=pattern), *new[1:]]
    return sorted([*kept, *new], key=lambda each: (each.bar, Fraction(each.beat)))


def mean_pattern(said: PatternSaid, page: Page) -> None:
    """Keep what the picking hand does, and play it where it was said."""
    part, version = page.part(), page.version()
    cells, lines = read_cells(said.strokes)
    spans = [span for each in said.at for span in ranges_of(each, page.where)]
    meter = meter_at(version, spans[0].start.bar if spans else 1)
    grid = said.grid and grid_text(parse_grid(said.grid))
    grid = grid or _grid_for(steps_of(cells), lines, meter)
    read_pattern(said.strokes, grid, meter, said.feel)
    label = said.label or _label(said, part)
    new = Pattern(label=label, grid=grid, line=said.strokes, feel=said.feel or "straight")
    kept = tuple(each for each in part.patterns if each.label != label)
    page.change_part(patterns=(*kept, new))
    told = f"pattern {label}, {grid}: {said.strokes}"
    chart, missing = list(part.chart), []
    for name, span in ((n, s) for n in said.at for s in ranges_of(n, page.where)):
        inside = [i for i, each in enumerate(chart) if each.bar in span.bars and each.voicing]
        if inside:
            chart[inside[0]] = replace(chart[inside[0]], pattern=label)
        else:
            missing.append(f"{name} (bar {span.start.bar})")
    if tuple(chart) != part.chart:
        page.change_part(chart=tuple(chart))
    if missing:
        page.warnings.append(
            f"{', '.join(missing)} has no chart yet: write the line again once it has"
        )
    page.told.append(told + (f" on {' and '.join(said.at)}" if said.at else ""))


def _grid_for(count: int, bar_lines: list[int], meter: Any) -> str:
    """The note value that makes a pattern fill one bar, else two, else more."""
    for bars in (len(bar_lines) + 1, 1, 2, 4):
        for grid in GRIDS:
            if parse_grid(grid) * count == meter.bar_length * bars:
                return grid
    raise LogbookError(
        f"{count} strokes do not fill whole bars of {meter}",
        "write as many as the bar has eighths or sixteenths, with . where nothing is struck",
    )


def _label(said: PatternSaid, part: Part) -> str:
    same = next((each.label for each in part.patterns if each.line == said.strokes), "")
    if same:
        return same
    word = "picking" if any(c in said.strokes for c in "pimaP") else "strum"
    taken = {each.label for each in part.patterns}
    return next(
        name for n in range(1, 1000) if (name := word if n == 1 else f"{word} {n}") not in taken
    )
