from __future__ import annotations

from dataclasses import replace

from logbook.arranging.arrange import arrange
from logbook.arranging.difference import differences, form_text, kept_text, tempo_text
from logbook.records import (
    ArrangedPart,
    ArrangedSection,
    Arrangement,
    FormSection,
    Instrument,
    TempoChange,
)
from tests.arranging.material import VERSION, arranged, log_of


def told(**fields: object) -> dict[str, tuple[str, str]]:
    found = differences(arranged(**fields))
    return {each.about: (each.recorded, each.now) for each in found}


def test_nothing_differs_from_the_record_as_it_is() -> None:
    assert told() == {}


def test_key_tempo_form_length_voicings_and_parts() -> None:
    found = told(
        key="C",
        bpm=100,
        sections=(
            ArrangedSection(name="chorus", times=2),
            ArrangedSection(name="verse", vamp=True),
        ),
        parts=(ArrangedPart(part="guitar", capo="2"), ArrangedPart(part="bass", left_out=True)),
    )
    assert found["key"] == ("D major", "C major, 2 semitones down")
    assert found["tempo"] == ("q=120", "q=100")
    assert found["form"] == ("intro 2, verse 2, chorus 4", "chorus 4 x2, verse 2")
    assert found["length"] == ("16.0 s", "24.0 s, plus the vamp (verse)")
    assert found["melody"] == ("A3 to B4", "G3 to A4")
    assert found["bass"] == ("played", "left out")
    voicings = {about: said for about, said in found.items() if about.startswith("guitar: voicing")}
    assert set(voicings) == {f"guitar: voicing {name}" for name in ("D", "Bm", "G", "A")}
    assert voicings["guitar: voicing D"][0] == "x 3 2 0 1 0 from the capo"
    assert voicings["guitar: voicing D"][1].startswith("C: ")


def test_only_the_capo_differs_where_the_shapes_stay() -> None:
    assert [about for about in told(key="E") if about.startswith("guitar")] == ["guitar: capo"]
    assert told(key="E")["guitar: capo"] == ("2", "4")


def test_tuning_player_instrument_and_pitch() -> None:
    found = told(
        parts=(
            ArrangedPart(part="guitar", tuning="half step down", capo="3", written_for="F"),
            ArrangedPart(part="bass", player="Orla"),
        )
    )
    assert found["guitar: tuning"] == (
        "standard (E2 A2 D3 G3 B3 E4)",
        "half step down (Eb2 Ab2 Db3 Gb3 Bb3 Eb4)",
    )
    assert found["guitar: capo"] == ("2", "3")
    assert found["guitar: written for"] == ("concert pitch", "F")
    assert found["bass: player"] == ("Piet", "Orla")
    assert not any("voicing" in about for about in found)


def test_the_same_pitches_in_another_spelling() -> None:
    version = replace(VERSION, key="F#", parts=(), melody_low="", melody_high="")
    assert told(version=version, key="Gb") == {
        "key": ("F# major", "Gb major, the same pitches spelled otherwise")
    }


def test_tempos_have_no_more_decimals_than_a_metronome() -> None:
    version = replace(
        VERSION,
        tempos=(
            TempoChange(bar=1, bpm=86.66666666666667),
            TempoChange(bar=3, bpm=90, ramp_bpm=61.25, ramp_end="5"),
        ),
    )
    assert tempo_text(version) == "1 q=86.67, 3-4 q=90>61.25"


def test_neighbours_of_one_name_and_length_are_drawn_together() -> None:
    sections = [FormSection(name="verse", start=start, bars=2) for start in (1, 3, 5)]
    sections += [FormSection(name="verse", start=7, bars=4)]
    assert form_text(replace(VERSION, form=tuple(sections))) == "verse 2 x3, verse 4"


def test_kept_text() -> None:
    assert kept_text(5, 5) == "all 5 voicings stay fret for fret"
    assert kept_text(0, 5) == "none of 5 voicings stay fret for fret"
    assert kept_text(1, 1) == "the one voicing stays fret for fret"
    assert kept_text(0, 1) == "the one voicing changes"


def test_an_instrument_that_transposes_anyway_is_no_difference() -> None:
    log, song = log_of()
    horn = Instrument(name="voice", kind="alto saxophone", transposition=9)
    instruments = tuple(horn if each.name == "voice" else each for each in log.instruments)
    log = replace(log, instruments=instruments)
    for written, wanted in (
        ("Eb", []),
        ("Bb", [("voice: written for", "for its instrument", "Bb")]),
    ):
        plan = Arrangement(name="pub", parts=(ArrangedPart(part="voice", written_for=written),))
        found = differences(arrange(log, song, VERSION, plan))
        assert [(e.about, e.recorded, e.now) for e in found] == wanted
