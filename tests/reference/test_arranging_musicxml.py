"""MusicXML files against an independent reader: music21 (BSD)."""

from __future__ import annotations

import functools
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest

from logbook.arranging.arrange import ArrangedVersion, arrange
from logbook.arranging.musicxml import musicxml_text
from logbook.arranging.performance import perform, positions_of
from logbook.arranging.transposing import part_interval, written_key, written_name
from logbook.arranging.xml_chords import harmony_of
from logbook.notebook.read import read_log
from logbook.records import ArrangedPart, ArrangedSection, Arrangement, Part
from logbook.records.context import tempo_map_of
from logbook.strings.sounding import sounding_midi
from logbook.theory.kinds import all_kinds
from logbook.theory.pitch import name_to_midi
from logbook.theory.symbols import read_symbol
from tests.musicxml_schema import assert_valid

music21 = pytest.importorskip("music21")

SAMPLE = Path(__file__).parents[2] / "sample_session" / "session.toml"
LOG = read_log(SAMPLE.read_text(encoding="utf-8"), folder=str(SAMPLE.parent))
PLANS = {
    "as recorded": ("Low Tide Ledger", Arrangement(name="x")),
    "lower, another form": (
        "Low Tide Ledger",
        Arrangement(
            name="x",
            key="Gb",
            bpm=87.5,
            sections=(
                ArrangedSection(name="chorus", source="chorus", bars=6),
                ArrangedSection(name="verse", times=2),
                ArrangedSection(name="outro", vamp=True),
            ),
        ),
    ),
    "for B-flat": (
        "Low Tide Ledger",
        Arrangement(name="x", key="Db", parts=(ArrangedPart(part="guitar", written_for="Bb"),)),
    ),
    "for E-flat": (
        "Varnish",
        Arrangement(name="x", key="F", parts=(ArrangedPart(part="bass", written_for="Eb"),)),
    ),
    "pick-up in 6/8": ("Lantern on the Slip", Arrangement(name="x", key="Bb")),
    "tempo change": ("Varnish", Arrangement(name="x", bpm=96)),
    "partial capo, mandolin": ("Rowan Gate", Arrangement(name="x")),
}


def staffs(score: Any) -> list[Any]:
    """Each part's first staff, where its chord symbols and notes stand; the other is tablature."""
    return [part for part in score.parts if not str(part.id).endswith("Staff2")]


@pytest.mark.parametrize("plan", PLANS)
def test_the_schema_of_musicxml_accepts_every_score(plan: str) -> None:
    """MusicXML 4.0, W3C Music Notation Community Group."""
    _, text, _ = read(plan)
    assert_valid(text)


@functools.cache
def read(plan: str) -> tuple[ArrangedVersion, str, Any]:
    """An arrangement, its score, and that score read back; made once, to be left alone."""
    title, arrangement = PLANS[plan]
    song = next(each for each in LOG.songs if each.title == title)
    found = arrange(LOG, song, song.versions[0], arrangement)
    text = musicxml_text(found, repeats=False)
    return found, text, music21.converter.parse(text, format="musicxml")


@pytest.mark.parametrize("plan", PLANS)
def test_key_bars_meters_and_tempo(plan: str) -> None:
    found, _, score = read(plan)
    bars = tempo_map_of(found.version)
    assert bars is not None
    last = found.form.passages[-1].end - 1
    for part_plan, part in zip(found.parts, staffs(score), strict=True):
        interval = part_interval(found, part_plan)
        assert found.key is not None
        (key,) = part.recurse().getElementsByClass(music21.key.KeySignature)
        wanted = written_key(found.key, interval)
        assert (key.sharps, key.mode) == (wanted.fifths, wanted.mode)
        assert key.tonic.name == wanted.tonic.replace("b", "-")
        measures = list(part.getElementsByClass(music21.stream.Measure))
        assert [m.number for m in measures] == list(range(bars.first_bar, last + 1))
        assert [Fraction(m.duration.quarterLength) for m in measures] == [
            4 * bars.bar_length(m.number) for m in measures
        ]
    marks = staffs(score)[0].recurse().getElementsByClass(music21.tempo.MetronomeMark)
    told = [(mark.measureNumber, mark.getQuarterBPM()) for mark in marks]
    first = bars.first_bar
    assert [bar for bar, _ in told] == [
        first if n == 0 else change.start.bar for n, change in enumerate(bars.tempos)
    ]
    assert [bpm for _, bpm in told] == pytest.approx(
        [float(change.tempo.quarter_bpm) for change in bars.tempos], rel=1e-5
    )


def by_name_or_label(part: Part, label: str) -> str:
    return next((each.name or each.label for each in part.voicings if each.label == label), label)


@pytest.mark.parametrize("plan", PLANS)
def test_chords_at_their_places(plan: str) -> None:
    found, _, score = read(plan)
    bars = tempo_map_of(found.version)
    assert bars is not None
    for part_plan, part in zip(found.parts, staffs(score), strict=True):
        assert part_plan.part is not None
        interval = part_interval(found, part_plan)
        heard = []
        for chord in part.recurse().getElementsByClass(music21.harmony.ChordSymbol):
            measure = chord.getContextByClass(music21.stream.Measure)
            if chord.root() is None:
                continue  # N.C.
            place = Fraction(chord.getOffsetInHierarchy(measure)).limit_denominator(64)
            pitches = {pitch.pitchClass for pitch in chord.pitches}
            heard.append((measure.number, place, pitches, chord.root().name))
        wanted = []
        for entry in part_plan.part.chart:
            if not entry.voicing:
                continue
            symbol = read_symbol(written_name(entry.voicing, found.key, interval))
            at = (Fraction(entry.beat) - 1) * bars.meter_at(entry.bar).beat_length
            if entry.bar == 0:
                at -= bars.meter_at(1).bar_length - bars.pickup
            root = symbol.root.replace("b", "-")
            wanted.append((entry.bar, 4 * at, set(symbol.pitch_classes), root))
        assert heard == wanted


@pytest.mark.parametrize("plan", PLANS)
def test_transposition_and_section_marks(plan: str) -> None:
    found, _, score = read(plan)
    for part_plan, part in zip(found.parts, staffs(score), strict=True):
        instrument = part.recurse().getElementsByClass(music21.instrument.Instrument)[0]
        semitones = instrument.transposition.semitones if instrument.transposition else 0
        clef = part.recurse().getElementsByClass(music21.clef.Clef)[0]
        written = 12 * clef.octaveChange + semitones
        assert written == -part_interval(found, part_plan).semitones
    marks = staffs(score)[0].recurse().getElementsByClass(music21.expressions.RehearsalMark)
    assert [(mark.measureNumber) for mark in marks] == [p.start for p in found.form.passages]


@pytest.mark.parametrize("plan", PLANS)
def test_frames_survive(plan: str) -> None:
    """Strings as tuned, plus capo, plus fret, sound what the voicing sounds.

    music21 keeps that a chord has a frame but not its notes, so these are read by hand.
    """
    found, text, score = read(plan)
    root = ElementTree.fromstring(text.encode())
    for number, part_plan in enumerate(found.parts, start=1):
        part = part_plan.part
        element = root.find(f"part[@id='P{number}']")
        assert part is not None
        assert element is not None
        tuning = found.place(part).tuning
        if tuning is None:
            assert element.find(".//frame") is None
            continue
        written = [
            name_to_midi(
                f"{each.findtext('tuning-step')}"
                f"{'#' * int(each.findtext('tuning-alter') or 0)}"
                f"{'b' * -int(each.findtext('tuning-alter') or 0)}"
                f"{each.findtext('tuning-octave')}"
            )
            for each in element.iter("staff-tuning")
        ]
        assert tuple(written) == tuning.open_midi
        capo = int(element.findtext(".//staff-details/capo") or 0)
        positions = positions_of(part, tuning)
        harmonies = list(element.iter("harmony"))
        assert len(harmonies) == len(part.chart)
        for entry, harmony in zip(part.chart, harmonies, strict=True):
            if not entry.voicing:
                continue
            sounds: list[int | None] = [None] * len(tuning)
            for note in harmony.iter("frame-note"):
                index = len(tuning) - int(note.findtext("string") or 0)
                sounds[index] = written[index] + capo + int(note.findtext("fret") or 0)
            assert tuple(sounds) == sounding_midi(positions[entry.voicing], tuning)
        fingered = [v for v in part.voicings if v.fingers and any(c.isdigit() for c in v.fingers)]
        if fingered:
            assert next(element.iter("fingering"), None) is not None
    chords = [
        chord
        for part in staffs(score)
        for chord in part.recurse().getElementsByClass(music21.harmony.ChordSymbol)
    ]
    with_board = [c for c in chords if isinstance(c, music21.tablature.ChordWithFretBoard)]
    assert len(with_board) == len(list(root.iter("frame")))


@pytest.mark.parametrize("kind", all_kinds(), ids=lambda kind: kind.suffix or "major")
def test_every_kind_of_chord_is_read_with_the_same_notes(kind: Any) -> None:
    symbol = read_symbol("Eb" + kind.suffix)
    harmony = ElementTree.tostring(harmony_of(symbol.symbol, None), encoding="unicode")
    score = music21.converter.parse(
        '<score-partwise version="4.0"><part-list><score-part id="P1"><part-name>x</part-name>'
        '</score-part></part-list><part id="P1"><measure number="1"><attributes><divisions>1'
        "</divisions><time><beats>4</beats><beat-type>4</beat-type></time></attributes>"
        f"{harmony}<note><rest/><duration>4</duration></note></measure></part></score-partwise>",
        format="musicxml",
    )
    chord = next(iter(score.recurse().getElementsByClass(music21.harmony.ChordSymbol)))
    assert {pitch.pitchClass for pitch in chord.pitches} == set(symbol.pitch_classes)
    assert chord.root().name == "E-"


@pytest.mark.parametrize("plan", PLANS)
def test_notes_sound_as_they_are_performed(plan: str) -> None:
    """Every stroke stands where it is played, with the pitches that sound, in every bar."""
    found, _, score = read(plan)
    bars = tempo_map_of(found.version)
    assert bars is not None
    for part_plan, part in zip(found.parts, staffs(score), strict=True):
        if part_plan.after is None or part_plan.said.written_for or part_plan.part is None:
            continue
        straight = replace(
            part_plan.part,
            patterns=tuple(replace(each, feel="straight") for each in part_plan.part.patterns),
        )
        wanted: dict[Fraction, set[int]] = {}
        for note in perform(found.place(straight), bars):
            if not note.muted:
                wanted.setdefault(note.start * 4, set()).add(note.midi[0])
        heard: dict[Fraction, set[int]] = {}
        for item in part.recurse().notes:
            if isinstance(item, music21.harmony.ChordSymbol) or item.duration.isGrace:
                continue
            ties = [n.tie.type if n.tie else "" for n in getattr(item, "notes", [item])]
            crossed = any(n.notehead == "x" for n in getattr(item, "notes", [item]))
            if crossed or all(tie in ("stop", "continue") for tie in ties):
                continue
            measure = item.getContextByClass(music21.stream.Measure)
            inside = Fraction(item.getOffsetInHierarchy(measure)).limit_denominator(192)
            at = 4 * bars.bar_start(measure.number) + inside
            heard.setdefault(at, set()).update(p.midi for p in item.pitches)
        assert heard == wanted


def test_a_section_played_twice_is_repeated_and_unfolds_to_the_same_music() -> None:
    """music21 plays the repeats; the schema takes the file."""
    song = next(each for each in LOG.songs if each.title == "Low Tide Ledger")
    sections = (
        ArrangedSection(name="verse", source="verse", times=2),
        ArrangedSection(name="chorus", source="chorus", times=3),
        ArrangedSection(name="outro", source="outro"),
    )
    found = arrange(LOG, song, song.versions[0], Arrangement(name="x", sections=sections))
    folded, whole = musicxml_text(found), musicxml_text(found, repeats=False)
    assert_valid(folded)
    assert folded.count('repeat direction="backward"') > 0
    score = music21.converter.parse(folded, format="musicxml")
    plain = music21.converter.parse(whole, format="musicxml")
    for part, other in zip(staffs(score), staffs(plain), strict=True):
        assert len(part.getElementsByClass(music21.stream.Measure)) < len(
            other.getElementsByClass(music21.stream.Measure)
        )
        unfolded = part.expandRepeats()
        bars = [
            [[p.midi for p in note.pitches] for note in measure.recurse().notes]
            for measure in unfolded.getElementsByClass(music21.stream.Measure)
        ]
        wanted = [
            [[p.midi for p in note.pitches] for note in measure.recurse().notes]
            for measure in other.getElementsByClass(music21.stream.Measure)
        ]
        assert bars == wanted
