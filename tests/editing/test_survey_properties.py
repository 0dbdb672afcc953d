"""For any tempo map, form and comp: coverage plus gaps is the form, sources are in their takes."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as st

from logbook.editing.clips import TakeAudio, lay_clips
from logbook.editing.comp import EditPiece
from logbook.editing.spans import Span, merged, total, without
from logbook.editing.survey import Section, survey_comp
from logbook.editing.takes import TakeId, TakeSpan
from logbook.timing.bars import BarPoint, BarRange, bars
from logbook.timing.map_text import read_tempo_map
from logbook.timing.tempo_map import TempoMap

LAST_BAR = 32
RATE_HZ = 44100


@st.composite
def maps(draw: st.DrawFn) -> TempoMap:
    meter_bars = [1, *sorted(draw(st.sets(st.integers(2, LAST_BAR), max_size=2)))]
    meters = [f"{bar} {draw(st.sampled_from(['4/4', '3/4', '6/8', '7/8']))}" for bar in meter_bars]
    tempos = [f"1 q={draw(st.integers(40, 220))}"]
    if draw(st.booleans()):
        first = draw(st.integers(2, LAST_BAR - 4))
        tempos.append(f"{first}-{first + 3} >{draw(st.integers(40, 220))}")
    return read_tempo_map(meters, tempos, draw(st.sampled_from(["", "1 e", "1 q", "3 e"])))


@st.composite
def spans(draw: st.DrawFn, tempo_map: TempoMap) -> Span:
    """A stretch of the music whose ends fall on beats, halves and thirds of them."""
    end = tempo_map.bar_start(LAST_BAR + 1)
    grid = Fraction(1, 48)
    steps = st.integers(0, int(end / grid))
    first, last = sorted(draw(st.sets(steps, min_size=2, max_size=2)))
    return first * grid, last * grid


@st.composite
def forms(draw: st.DrawFn, tempo_map: TempoMap) -> list[Section]:
    edges = sorted(
        draw(st.sets(st.integers(tempo_map.first_bar, LAST_BAR), min_size=2, max_size=5))
    )
    return [
        Section(f"section {number}", BarRange(BarPoint(start), BarPoint(end)))
        for number, (start, end) in enumerate(pairwise(edges))
    ]


@st.composite
def comps(draw: st.DrawFn, tempo_map: TempoMap) -> list[EditPiece]:
    pieces = []
    for _ in range(draw(st.integers(0, 5))):
        at = draw(spans(tempo_map))
        source = draw(st.just(at) | spans(tempo_map))
        pieces.append(
            EditPiece(
                bars=tempo_map.range_between(*at),
                take=TakeId(draw(st.integers(1, 2))),
                source=tempo_map.range_between(*source),
            )
        )
    return pieces


@given(st.data(), maps())
def test_coverage_and_gaps_make_the_form(data: st.DataObject, tempo_map: TempoMap) -> None:
    form = data.draw(forms(tempo_map))
    pieces = data.draw(comps(tempo_map))
    found = survey_comp(pieces, [], form, tempo_map)
    covered = [tempo_map.span_of(each) for each in found.covered]
    gaps = [tempo_map.span_of(each) for each in found.gaps]
    outside = [tempo_map.span_of(each) for each in found.outside_form]
    whole_form = merged(tempo_map.span_of(section.bars) for section in form)
    pickup = [(Fraction(0), tempo_map.pickup)] if form and tempo_map.pickup else []
    in_form = without(covered, without(pickup, whole_form))
    assert merged([*without(in_form, outside), *gaps]) == whole_form
    assert total(in_form) - total(outside) + total(gaps) == total(whole_form)
    overlaps = [tempo_map.span_of(each.bars) for each in found.overlaps]
    claimed = total(tempo_map.span_of(piece.bars) for piece in pieces)
    assert (
        total(covered)
        + sum(
            (end - start) * (len(each.takes) - 1)
            for (start, end), each in zip(overlaps, found.overlaps, strict=True)
        )
        == claimed
    )


@given(st.data(), maps())
def test_shares_make_a_whole_and_length_is_the_covered_bars(
    data: st.DataObject, tempo_map: TempoMap
) -> None:
    found = survey_comp(data.draw(comps(tempo_map)), [], [], tempo_map)
    if found.pieces:
        assert sum(each.share for each in found.shares) == 1
    assert found.length_bars == sum(
        tempo_map.bars_between(*tempo_map.span_of(each)) for each in found.covered
    )


@given(st.data(), maps())
def test_a_source_is_inside_its_take_or_a_fault_says_what_is_not(
    data: st.DataObject, tempo_map: TempoMap
) -> None:
    takes = [
        TakeSpan(number=number, bars=tempo_map.range_between(*data.draw(spans(tempo_map))))
        for number in (1, 2)
    ]
    found = survey_comp(data.draw(comps(tempo_map)), takes, [], tempo_map)
    for piece in found.pieces:
        outside = [
            tempo_map.span_of(fault.bars)
            for fault in found.faults
            if fault.kind == "outside the take" and fault.piece == piece
        ]
        take_bars = takes[piece.take.number - 1].bars
        assert take_bars is not None
        inside = without([tempo_map.span_of(piece.source)], outside)
        assert without(inside, [tempo_map.span_of(take_bars)]) == []
        assert without(outside, [tempo_map.span_of(piece.source)]) == []


@given(st.data(), maps())
def test_every_moment_of_a_take_is_either_used_or_never_used(
    data: st.DataObject, tempo_map: TempoMap
) -> None:
    whole = bars(tempo_map.first_bar, LAST_BAR)
    takes = [TakeSpan(number=number, bars=whole) for number in (1, 2)]
    found = survey_comp(data.draw(comps(tempo_map)), takes, [], tempo_map)
    for take in takes:
        unused = [
            tempo_map.span_of(each)
            for item in found.unused
            if item.take == take.id
            for each in item.bars
        ]
        used = [tempo_map.span_of(each.source) for each in found.pieces if each.take == take.id]
        assert merged([*unused, *used]) == [tempo_map.span_of(whole)]
        assert total(unused) + total(merged(used)) == total([tempo_map.span_of(whole)])


@given(st.data(), maps(), st.integers(0, 100_000))
def test_clips_are_inside_their_files_and_exact(
    data: st.DataObject, tempo_map: TempoMap, lead_in: int
) -> None:
    end = tempo_map.sample_at(BarPoint(LAST_BAR + 1), RATE_HZ)
    audio = [
        TakeAudio(
            take=TakeId(number),
            path=f"take{number}.wav",
            rate_hz=RATE_HZ,
            frames=end + lead_in,
            starts_at=Fraction(-lead_in, RATE_HZ),
        )
        for number in (1, 2)
    ]
    pieces = data.draw(comps(tempo_map))
    for clip in lay_clips(pieces, audio, [], tempo_map):
        assert 0 <= clip.first_frame < clip.first_frame + clip.frames <= clip.audio.frames
        start, stop = tempo_map.samples_of(clip.piece.source, RATE_HZ)
        assert clip.first_frame == start + lead_in
        assert clip.frames <= stop - start + 1
        at, end = tempo_map.samples_of(clip.piece.bars, RATE_HZ)
        assert clip.fills <= end - at
        if tempo_map.span_of(clip.piece.source)[1] - tempo_map.span_of(clip.piece.source)[0] == (
            tempo_map.span_of(clip.piece.bars)[1] - tempo_map.span_of(clip.piece.bars)[0]
        ):
            assert clip.fills == end - at
        assert clip.at_frame == tempo_map.sample_at(clip.piece.bars.start, RATE_HZ)
