"""Which take a file most likely is, on the habits of several recorders; all names invented."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path, PurePosixPath

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.audio.facts import AudioInfo, BroadcastInfo, IxmlInfo
from logbook.errors import LogbookError
from logbook.importing.path_words import initials_of, path_words, runs_of
from logbook.importing.proposal_text import FileGroup, ProposalError, read_groups, write_group
from logbook.importing.proposing import SURE
from logbook.importing.weighing import PlaceReading, weigh
from logbook.importing.weighing_known import KnownLog
from logbook.store.file_rows import Outline, PartLine, SessionLine, TakeOutline, VersionLine

SONGS = {1: "Low Tide Ledger", 2: "Varnish", 3: "Rowan Gate"}
PARTS = ("guitar", "high guitar", "drums", "bass", "lead vocal", "backing vocal", "violin 1")
OUTLINE = Outline(
    songs=SONGS,
    versions={n: VersionLine(n, n, "EP", None, "") for n in SONGS},
    parts={
        10 * song + at: PartLine(10 * song + at, song, name)
        for song in SONGS
        for at, name in enumerate(PARTS)
    },
    sessions={
        1: SessionLine(1, "day one", "2026-05-02", "", ""),
        2: SessionLine(2, "day two", "2026-05-03", "", ""),
    },
    takes=[TakeOutline(n, 10 + part, 1, n, "") for part in range(7) for n in (1, 2, 3)],
    files=[],
    last_command=0,
)
KNOWN = KnownLog(OUTLINE)


def info(
    *, broadcast: str = "", date: str = "", ixml: IxmlInfo | None = None, title: str = ""
) -> AudioInfo:
    said = None
    if broadcast or date:
        said = BroadcastInfo(
            version=0, description=broadcast, originator="", originator_reference="",
            date=date, time="", time_reference_samples=0,
        )  # fmt: skip
    return AudioInfo(
        path=Path("x"), container="WAV", codec="PCM", rate_hz=48000, depth_bits=24, channels=1,
        frames=48000, size_bytes=1, modified_ns=0, digest="",
        tags={"title": (title,)} if title else {}, broadcast=said, ixml=ixml,
    )  # fmt: skip


def told(reading: PlaceReading) -> tuple[str, str, int, str]:
    part = OUTLINE.parts[reading.part_id]
    return SONGS[part.version_id], part.name, reading.take, reading.microphone


@pytest.mark.parametrize(
    ("path", "expected"),
    [
        ("Low Tide Ledger/Gtr_03.wav", ("Low Tide Ledger", "guitar", 3, "")),
        ("LowTideLedger_HiGtr_T2_L.wav", ("Low Tide Ledger", "high guitar", 2, "L")),
        ("LTL-high-guitar-02-R.wav", ("Low Tide Ledger", "high guitar", 2, "R")),
        ("Varnish/drums/07_KickIn.wav", ("Varnish", "drums", 7, "Kick In")),
        ("Varnish/Take 07/Snare Top.wav", ("Varnish", "drums", 7, "Snare Top")),
        ("2026-05-03/varnish ldvox take 4.wav", ("Varnish", "lead vocal", 4, "")),
        ("Rowan/Vln1_02.wav", ("Rowan Gate", "violin 1", 2, "")),
        ("rowan gate - bass - 3 (48k 24bit).wav", ("Rowan Gate", "bass", 3, "")),
        ("Varnish_2026-05-02_BV_5.wav", ("Varnish", "backing vocal", 5, "")),
        ("05 bass varnish DI.wav", ("Varnish", "bass", 5, "DI")),
        ("20260502_143210_rowangate_bass_tk11.wav", ("Rowan Gate", "bass", 11, "")),
        ("Rowan Gate/day two/backing vocal/12.wav", ("Rowan Gate", "backing vocal", 12, "")),
        ("02_varnish_drums_OH_L.wav", ("Varnish", "drums", 2, "OH L")),
        ("Lead Vocal.Varnish.3.wav", ("Varnish", "lead vocal", 3, "")),
    ],
)
def test_habits(path: str, expected: tuple[str, str, int, str]) -> None:
    found = weigh(info(), PurePosixPath(path), KNOWN)
    assert found, path
    assert told(found[0]) == expected


@pytest.mark.parametrize("path", ["REC_0001.wav", "CARD A/track 4.wav", "ideas/humming.wav", "x"])
def test_what_nothing_tells_is_not_guessed(path: str) -> None:
    assert weigh(info(), PurePosixPath(path), KNOWN) == []


def test_chunks_and_tags_tell_what_the_name_does_not() -> None:
    said = info(broadcast="Varnish, bass, take 3", date="2026-05-03")
    (best, *_) = weigh(said, PurePosixPath("REC_0001.wav"), KNOWN)
    assert told(best) == ("Varnish", "bass", 3, "")
    assert best.session_id == 2
    assert best.sure > 0.9
    scene = info(ixml=IxmlInfo(project="Rowan Gate", scene="bass", take="2"))
    assert told(weigh(scene, PurePosixPath("a.wav"), KNOWN)[0])[:3] == ("Rowan Gate", "bass", 2)


def test_a_take_that_is_logged_tells_its_session() -> None:
    best, other = weigh(info(), PurePosixPath("Low Tide Ledger/guitar_2.wav"), KNOWN)[:2]
    assert (best.session_id, other.session_id) == (1, 2)
    assert best.sure > 0.8 > other.sure


def test_two_sessions_that_both_fit_are_not_sure() -> None:
    (best, *_) = weigh(info(), PurePosixPath("Varnish/bass_9.wav"), KNOWN)
    assert 0.3 < best.sure < 0.6


def test_a_part_of_three_songs_without_a_song_is_not_sure() -> None:
    (best, *_) = weigh(info(), PurePosixPath("bass_9.wav"), KNOWN)
    assert best.sure < 0.4
    here = KnownLog(OUTLINE, here_song=2)
    assert told(weigh(info(), PurePosixPath("bass_9.wav"), here)[0])[0] == "Varnish"


def test_words_of_a_path() -> None:
    steps = path_words("Low Tide/KickIn_07.wav")
    assert [[word.plain for word in step] for step in steps] == [
        ["kick", "in", "7"],
        ["low", "tide"],
    ]
    assert runs_of("violin 1", path_words("Vln01_02.wav"))
    assert not runs_of("guitar", path_words("guild_02.wav"))
    assert initials_of("Low Tide Ledger") == "ltl"


NAMES = st.text(
    st.characters(codec="utf-8", exclude_categories=("Cc", "Cs", "Zl", "Zp")), max_size=12
).map(lambda text: " ".join(text.split()))


@given(
    st.builds(
        FileGroup,
        song=NAMES.filter(bool), version=NAMES.filter(bool), part=NAMES.filter(bool),
        session=NAMES, take=st.integers(1, 9999),
        files=st.lists(st.tuples(NAMES, NAMES.filter(bool)), min_size=1, max_size=3).map(tuple),
    )
)  # fmt: skip
def test_printing_and_reading_are_inverse(group: FileGroup) -> None:
    from dataclasses import replace

    (found,) = read_groups(f"# a remark\n\n{write_group(replace(group, said='93 %: why # so'))}\n")
    assert found == replace(group, line=3)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("a | b | c | d | x.wav", "5 fields"),
        ("a | b | c | d | none | x.wav", "'none' is not a take"),
        ("a |  | c | d | 1 | x.wav", "the version is missing"),
        ("a | b | c | d | 1 | ", "a file is missing"),
        ('a | "b | c | d | 1 | x', "no partner"),
    ],
)
def test_every_wrong_line_is_named(text: str, says: str) -> None:
    with pytest.raises(ProposalError, match=f"line 2: .*{says}"):
        read_groups(f"a | b | c |  | 1 | x.wav\n{text}")
    assert issubclass(ProposalError, LogbookError)


def log_with(songs: dict[int, str], parts: tuple[str, ...]) -> KnownLog:
    """A log of one session whose songs have these parts."""
    return KnownLog(
        Outline(
            songs=songs,
            versions={n: VersionLine(n, n, "EP", None, "") for n in songs},
            parts={
                10 * song + at: PartLine(10 * song + at, song, name)
                for song in songs
                for at, name in enumerate(parts)
            },
            sessions={1: SessionLine(1, "day one", "2026-05-02", "", "")},
            takes=[],
            files=[],
            last_command=0,
        )
    )


@pytest.mark.parametrize(
    ("path", "parts"),
    [
        ("Varnish/viola_02.wav", ("tenor guitar", "drums")),
        ("Varnish/tenor sax take 2.wav", ("tenor guitar", "drums")),
        ("Varnish/bass clarinet_02.wav", ("bass", "drums")),
        ("Varnish/bass_02.wav", ("bass clarinet", "drums")),
        ("Varnish/mandola_02.wav", ("mandolin", "drums")),
        ("Varnish/AGtr_02.wav", ("electric guitar", "drums")),
        ("Varnish/Vc_02.wav", ("violin 1", "viola")),
    ],
)
def test_another_instrument_is_not_the_part(path: str, parts: tuple[str, ...]) -> None:
    known = log_with({1: "Varnish", 2: "Rowan Gate"}, parts)
    found = weigh(info(), PurePosixPath(path), known)
    assert not found or found[0].sure < SURE


def test_letters_that_may_be_a_microphone_are_a_title_only_where_others_show_it() -> None:
    known = log_with({1: "Rowan Morning", 2: "Varnish"}, ("drums", "mandolin"))
    alone = weigh(info(), PurePosixPath("RM_Mando_02.wav"), known)
    assert alone[0].sure < SURE
    known.learn_letters([PurePosixPath("RM_Drums_03_Kick.wav")])
    found = weigh(info(), PurePosixPath("RM_Mando_02.wav"), known)[0]
    assert (found.part_id, found.take, found.microphone) == (11, 2, "")
    assert found.sure >= SURE


def take_log(**said: str) -> KnownLog:
    """A log of two sessions where take 2 of the guitar is logged in both, the first as said."""
    parts = {1: PartLine(1, 1, "guitar"), 2: PartLine(2, 1, "bass")}
    takes = [TakeOutline(1, 1, 1, 2, "1-8", **said), TakeOutline(2, 1, 2, 2, "")]
    return KnownLog(
        Outline(
            songs={1: "Varnish"},
            versions={1: VersionLine(1, 1, "EP", None, "")},
            parts=parts,
            sessions={n: SessionLine(n, f"day {n}", f"2026-05-0{n}", "", "") for n in (1, 2)},
            takes=takes,
            files=[],
            last_command=0,
        ),
        lasts=lambda version, bars: 16.0 if bars else None,
    )


@pytest.mark.parametrize(
    ("said", "facts", "more"),
    [
        ({"clock": "14:00:30"}, {"time": "14:00:05"}, True),
        ({"clock": "14:00:30"}, {"time": "19:10:00"}, False),
        ({}, {"seconds": 18}, True),
        ({}, {"seconds": 3}, False),
        ({"result": "keeper"}, {"circled": True, "seconds": 12}, True),
        ({"result": "reject"}, {"circled": True, "seconds": 12}, False),
    ],
)
def test_a_take_that_suits_the_file_is_likelier(
    said: dict[str, str], facts: dict[str, object], more: bool
) -> None:
    ixml = IxmlInfo(circled=True) if facts.get("circled") else None
    file = info(ixml=ixml)
    if "time" in facts:
        file = info(broadcast="x")
        assert file.broadcast is not None
        file = replace(file, broadcast=replace(file.broadcast, time=str(facts["time"])))
    file = replace(file, frames=48000 * int(str(facts.get("seconds", 12))))
    found = weigh(file, PurePosixPath("Varnish/guitar_02.wav"), take_log(**said))
    worth = {each.session_id: each.worth for each in found}
    assert (worth[1] > worth[2]) == more


def test_after_midnight_is_still_the_evening_before() -> None:
    file = info(date="2026-05-02")
    assert file.broadcast is not None
    late = replace(file, broadcast=replace(file.broadcast, time="01:20:00"))
    known = take_log()
    assert weigh(late, PurePosixPath("Varnish/guitar_05.wav"), known)[0].session_id == 2
    sessions = {1: known.outline.sessions[1]}
    only = KnownLog(known.outline._replace(sessions=sessions, takes=[]))
    assert weigh(late, PurePosixPath("Varnish/guitar_05.wav"), only)[0].sure > SURE


@pytest.mark.parametrize(
    ("path", "expected"),
    [
        ("Varnish 02.05.2026 bass t3.wav", ("Varnish", "bass", 3, "")),
        ("260502/Varnish/bass 03.wav", ("Varnish", "bass", 3, "")),
        ("2026-05-02/Varnish/bass take three DI.wav", ("Varnish", "bass", 3, "DI")),
    ],
)
def test_days_in_any_order_and_takes_in_words(
    path: str, expected: tuple[str, str, int, str]
) -> None:
    found = weigh(info(), PurePosixPath(path), KNOWN)[0]
    assert told(found) == expected
    assert found.session_id == 1
    assert found.sure >= SURE


@pytest.mark.parametrize("name", ["bass 02 comp", "bass rough mix 2", "bass-take-2-comped"])
def test_what_was_made_from_takes_is_none(name: str) -> None:
    assert weigh(info(), PurePosixPath(f"Varnish/{name}.wav"), KNOWN)[0].sure < SURE
