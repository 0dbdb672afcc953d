"""The sample session's songs in every key: what was right on the record is right on stage."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from logbook.arranging.arrange import arrange
from logbook.arranging.performance import perform
from logbook.notebook.read import read_log
from logbook.records import Arrangement, Log, Part, Song, Version
from logbook.records.context import tempo_map_of
from logbook.records.part_view import PartView
from logbook.strings.voicing import SoundingVoicing, describe
from logbook.theory.keys import Key, parse_key

SAMPLE = Path(__file__).parents[2] / "sample_session" / "session.toml"
LOG = read_log(SAMPLE.read_text(encoding="utf-8"), folder=str(SAMPLE.parent))
TITLES = [song.title for song in LOG.songs]


def described(place: PartView) -> dict[str, SoundingVoicing]:
    """Every voicing of a part, looked at afresh."""
    tuning = place.tuning
    if tuning is None:
        return {}
    return {
        each.label: describe(
            each.frets,
            tuning,
            place.capos,
            counted=each.counted or place.part.counted,
            key=place.version.key,
            name=each.name or each.label,
            fingers=each.fingers,
        )
        for each in place.part.voicings
    }


def agrees(voicing: SoundingVoicing) -> bool:
    return voicing.verdict is not None and voicing.verdict.agrees


@pytest.mark.parametrize("steps", range(-6, 6))
@pytest.mark.parametrize("title", TITLES)
def test_names_notes_and_charts_agree_in_every_key(title: str, steps: int) -> None:
    song = next(each for each in LOG.songs if each.title == title)
    version = song.versions[0]
    key = parse_key(version.key).transpose(steps)
    found = arrange(LOG, song, version, Arrangement(name="x", key=key.short))
    for plan in found.parts:
        assert plan.part is not None
        before = described(PartView(LOG, song, version, plan.recorded))
        after = described(found.place(plan.part))
        for (was_label, was), now in zip(before.items(), after.values(), strict=True):
            assert agrees(now) == agrees(was), f"{plan.name}: {was_label}"
            assert {note % 12 for note in now.midi} == {(note + steps) % 12 for note in was.midi}
            assert min(now.midi) % 12 == (min(was.midi) + steps) % 12
            assert now.stretch_mm <= max(100.0, was.stretch_mm)
        labels = {each.label for each in plan.part.voicings} | {""}
        assert {entry.voicing for entry in plan.part.chart} <= labels
        assert [(e.bar, e.beat) for e in plan.part.chart] == [
            (e.bar, e.beat) for e in plan.recorded.chart
        ]


@pytest.mark.parametrize("title", TITLES)
def test_there_and_back_again(title: str) -> None:
    song = next(each for each in LOG.songs if each.title == title)
    version = song.versions[0]
    home = parse_key(version.key)
    away = arrange(LOG, song, version, Arrangement(name="up", key=home.transpose(2).short))
    back = arrange(away.log, away.song, away.version, Arrangement(name="home", key=home.short))
    for plan, first in zip(back.parts, away.parts, strict=True):
        recorded = first.recorded  # called what sounds
        assert plan.part is not None
        assert [each.label for each in plan.part.voicings] == [
            each.label for each in recorded.voicings
        ]
        if all(len(each.frets.replace("x", "").split()) > 1 for each in recorded.voicings):
            assert [each.frets for each in plan.part.voicings] == [
                each.frets for each in recorded.voicings
            ]
            assert plan.part.capo == recorded.capo


def sounded(log: Log, song: Song, version: Version, part: Part) -> list[Any]:
    bars = tempo_map_of(version)
    assert bars is not None
    return [
        (note.start, note.end, note.string, note.muted, note.midi)
        for note in perform(PartView(log, song, version, part), bars)
    ]


@pytest.mark.parametrize("title", TITLES)
def test_same_shapes_sound_the_same_music_moved(title: str) -> None:
    song = next(each for each in LOG.songs if each.title == title)
    version = song.versions[0]
    key: Key = parse_key(version.key).transpose(1)
    found = arrange(LOG, song, version, Arrangement(name="x", key=key.short, bpm=77))
    for plan in found.parts:
        if plan.way is None or plan.way.kind != "same shapes" or plan.part is None:
            continue
        before = sounded(LOG, song, version, plan.recorded)
        after = sounded(found.log, found.song, found.version, plan.part)
        moved = [
            (*each[:4], tuple(midi + 1 for midi in each[4]) if not each[3] else each[4])
            for each in before
        ]
        assert after == moved


def test_the_record_itself_is_left_alone() -> None:
    before = replace(LOG)
    for song in LOG.songs:
        arrange(LOG, song, song.versions[0], Arrangement(name="x", bpm=60))
    assert before == LOG
