"""Which take a file is: evidence that agrees, evidence that contradicts, and silence."""

from __future__ import annotations

from pathlib import Path

from logbook.audio.facts import AudioInfo, BroadcastInfo, IxmlInfo
from logbook.audio.guessing import Finding, Guess, NameEvidence, guess
from logbook.audio.patterns import compile_pattern

PARTS = ["gtr", "Acoustic Gtr", "tide gtr"]
SONGS = ["Low Tide", "Low"]


def file(
    name: str,
    *,
    description: str = "",
    date: str = "",
    ixml: IxmlInfo | None = None,
    title: str = "",
) -> AudioInfo:
    broadcast = BroadcastInfo(
        version=1,
        description=description,
        originator="",
        originator_reference="",
        date=date,
        time="",
        time_reference_samples=0,
    )
    return AudioInfo(
        path=Path(name),
        container="WAV",
        codec="PCM",
        rate_hz=48000,
        depth_bits=24,
        channels=1,
        frames=1,
        size_bytes=1,
        modified_ns=1,
        tags={"title": (title,)} if title else {},
        broadcast=broadcast if description or date else None,
        ixml=ixml,
    )


def told(info: AudioInfo, *patterns: str) -> Guess:
    compiled = [compile_pattern(pattern) for pattern in patterns or ("{part}_{take}",)]
    return guess(info, patterns=compiled, parts=PARTS, songs=SONGS)


def test_the_file_name_alone() -> None:
    found = told(file("acoustic_gtr_03.wav"))
    assert found.part == Finding("Acoustic Gtr", (NameEvidence.FILE_NAME,))
    assert found.take == Finding(3, (NameEvidence.FILE_NAME,))
    assert (found.pattern, found.conflicts, found.song) == ("{part}_{take}", (), None)


def test_everything_agrees() -> None:
    info = file(
        "gtr_4.wav",
        description="Verse, take 04",
        date="2024:05:06",
        ixml=IxmlInfo(project="low tide", take="4", circled=True),
        title="Low Tide",
    )
    found = told(info)
    assert found.take == Finding(
        4, (NameEvidence.FILE_NAME, NameEvidence.BROADCAST, NameEvidence.IXML)
    )
    assert found.song == Finding("Low Tide", (NameEvidence.IXML, NameEvidence.TAGS))
    assert found.date == Finding("2024-05-06", (NameEvidence.BROADCAST,))
    assert found.circled is True
    assert found.conflicts == ()


def test_takes_that_contradict_are_not_chosen_from() -> None:
    found = told(file("gtr_4.wav", ixml=IxmlInfo(take="5")))
    assert found.take is None
    assert found.part is not None
    assert found.conflicts == ("take: the file name says 4, the iXML chunk says 5",)


def test_the_chunks_alone_know_no_part() -> None:
    found = told(file("untitled.wav", description="sTAKE=12"))
    assert found.take == Finding(12, (NameEvidence.BROADCAST,))
    assert found.part is None
    assert found.pattern == ""


def test_a_word_that_only_contains_take_is_none() -> None:
    assert told(file("x.wav", description="mistake 7")).take is None


def test_an_unknown_part_is_said() -> None:
    found = told(file("bazouki_4.wav"))
    assert found.part is None
    assert found.conflicts == ("no part 'bazouki' in the log",)


def test_a_name_with_several_known_readings_is_said() -> None:
    found = told(file("low_tide_gtr_3.wav"), "{song}_{part}_{take}")
    assert found.part is None
    assert found.take is None
    assert "reads the name in 2 ways" in found.conflicts[0]


def test_what_the_log_knows_settles_a_reading() -> None:
    compiled = [compile_pattern("{song}_{part}_{take}")]
    found = guess(
        file("low_tide_gtr_3.wav"), patterns=compiled, parts=["gtr"], songs=["Low Tide", "Low"]
    )
    assert found.song == Finding("Low Tide", (NameEvidence.FILE_NAME,))
    assert found.take == Finding(3, (NameEvidence.FILE_NAME,))


def test_the_first_pattern_that_reads_it_wins() -> None:
    found = told(file("gtr_3_neck.wav"), "{part}_{take}", "{part}_{take}_{mic}")
    assert found.pattern == "{part}_{take}_{mic}"
    assert found.mic == Finding("neck", (NameEvidence.FILE_NAME,))


def test_songs_that_contradict() -> None:
    found = told(file("Low Tide_gtr_3.wav", title="Low"), "{song}_{part}_{take}")
    assert found.song is None
    assert found.conflicts == ("song: the file name says Low Tide, the tags says Low",)


def test_a_title_the_log_does_not_know_says_nothing() -> None:
    assert told(file("gtr_3.wav", title="Audio 01")).song is None
