from __future__ import annotations

import csv
import io
import sys
from fractions import Fraction
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from logbook.editing.clips import TakeAudio, lay_clips
from logbook.editing.comp import EditPiece, parse_comp
from logbook.editing.handles import missing_handles
from logbook.editing.takes import TakeId, TakeSpan
from logbook.editing.timeline import (
    CSV_HEADER,
    build_timeline,
    comp_rows,
    file_url,
    write_timeline,
)
from logbook.errors import LogbookError
from logbook.timing.bars import parse_range
from logbook.timing.map_text import read_tempo_map

RATE_HZ = 44100
SONG = read_tempo_map(["4/4", "17 6/8"], ["q=117", "17 q.=61"], "1 q")
COMP = parse_comp(
    "0-8 take 2\n9-12.3 take 5 xfade 10ms\n12.3+1/3-16 take 2\n17-20 take 2 @ 21-24 xfade 7ms\n"
    "23-24 take 5 note end"
)
TAKES = (TakeSpan(number=2, bars=parse_range("0-24")), TakeSpan(number=5, bars=parse_range("1-24")))
LONG = SONG.sample_at(parse_range("0-24").end, RATE_HZ) + 50_000


def audio(number: int, lead_in: int, microphone: str = "", rate_hz: int = RATE_HZ) -> TakeAudio:
    return TakeAudio(
        take=TakeId(number),
        path=f"audio/take {number}{microphone}.wav",
        rate_hz=rate_hz,
        frames=LONG * rate_hz // RATE_HZ,
        starts_at=Fraction(-lead_in, rate_hz),
        microphone=microphone,
    )


FILES = (audio(2, 44100), audio(5, 12345))


def otio() -> Any:
    return pytest.importorskip("opentimelineio", reason="the extra `timeline` is not installed")


def test_clips_count_frames_from_the_start_of_their_file() -> None:
    clips = lay_clips(COMP, FILES, TAKES, SONG)
    assert [clip.audio.path for clip in clips] == [
        f"audio/take {number}.wav" for number in (2, 5, 2, 2, 5)
    ]
    for clip, lead_in in zip(clips, (44100, 12345, 44100, 44100, 12345), strict=True):
        assert clip.first_frame == SONG.sample_at(clip.piece.source.start, RATE_HZ) + lead_in
        start, end = SONG.samples_of(clip.piece.bars, RATE_HZ)
        assert clip.frames == end - start


def test_the_timeline_reads_back_to_the_sample(tmp_path: Path) -> None:
    library = otio()
    path = tmp_path / "comp.otio"
    write_timeline(path, "guitar", lay_clips(COMP, FILES, TAKES, SONG))
    track = library.adapters.read_from_file(str(path)).tracks[0]
    clips = [item for item in track if isinstance(item, library.schema.Clip)]
    assert len(clips) == len(COMP)
    for clip, piece in zip(clips, COMP, strict=True):
        lead_in = 44100 if piece.take == TakeId(2) else 12345
        source_start, source_end = SONG.samples_of(piece.source, RATE_HZ)
        assert clip.source_range.start_time == library.opentime.RationalTime(
            source_start + lead_in, RATE_HZ
        )
        start, end = SONG.samples_of(piece.bars, RATE_HZ)
        assert clip.source_range.duration == library.opentime.RationalTime(end - start, RATE_HZ)
        # Bars 21-24 round to one sample more than bars 17-20; the others stand in place.
        assert source_end - source_start - (end - start) == (piece.source != piece.bars)
        assert clip.media_reference.target_url == f"audio/take%20{piece.take}.wav"
        assert clip.media_reference.available_range.duration.value == LONG
        at = track.trimmed_range_of_child(clip)
        assert at.start_time.value == start
    assert _pieces_of(clips) == list(COMP)


def _pieces_of(clips: list[Any]) -> list[EditPiece]:
    return list(parse_comp([clip.metadata["session-logbook"]["piece"] for clip in clips]))


def test_holes_are_gaps_and_crossfades_dissolves() -> None:
    library = otio()
    track = build_timeline("guitar", lay_clips(COMP, FILES, TAKES, SONG)).tracks[0]
    kinds = [type(item).__name__ for item in track]
    assert kinds == [
        *("Clip", "Transition", "Clip", "Gap", "Clip", "Transition", "Clip", "Gap", "Clip")
    ]
    fade = track[1]
    assert (fade.in_offset + fade.out_offset) == library.opentime.RationalTime(441, RATE_HZ)


def test_every_microphone_has_a_track() -> None:
    otio()
    files = [audio(2, 0, " near"), audio(2, 0, " far"), audio(5, 0, " near")]
    timeline = build_timeline("guitar", lay_clips(COMP, files, TAKES, SONG))
    assert [track.name for track in timeline.tracks] == [" near", " far"]
    clips = [
        [item for item in track if hasattr(item, "media_reference")] for track in timeline.tracks
    ]
    assert [len(each) for each in clips] == [5, 3]


def test_a_file_at_another_rate_is_counted_at_its_own() -> None:
    files = [audio(2, 0, rate_hz=48000), audio(5, 0)]
    clips = lay_clips(COMP, files, TAKES, SONG)
    assert clips[0].frames == SONG.sample_at(parse_range("0-8").end, 48000)
    assert clips[1].first_frame == SONG.sample_at(parse_range("9").start, 44100)


def test_bars_moved_along_the_sample_grid_fill_their_place() -> None:
    song = read_tempo_map("4/4", "97")
    comp = parse_comp("\n".join(f"{bar} take 2 @ {bar + 7}" for bar in range(1, 13)))
    clips = lay_clips(comp, [audio(2, 0)], [], song)
    for before, after in pairwise(clips):
        assert before.at_frame + before.frames == after.at_frame


@pytest.mark.parametrize(
    ("comp", "files", "said"),
    [
        ("1-8 take 9", FILES, "take 9 has no audio file"),
        (
            "0-8 take 5",
            [audio(5, -20_000)],
            "does not hold bars 0-8 of take 5: they are its frames -",
        ),
        ("30-60 take 2", FILES, "does not hold bars 30-60"),
    ],
)
def test_what_the_files_do_not_hold_is_refused(
    comp: str, files: list[TakeAudio], said: str
) -> None:
    with pytest.raises(LogbookError, match=said):
        lay_clips(parse_comp(comp), files, TAKES, SONG)


def test_overlapping_pieces_make_no_timeline() -> None:
    otio()
    clips = lay_clips(parse_comp("1-8 take 2\n8-9 take 5"), FILES, TAKES, SONG)
    with pytest.raises(LogbookError, match="8-9 begins before the piece ahead"):
        build_timeline("guitar", clips)


def test_without_the_library_the_extra_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "opentimelineio", None)
    with pytest.raises(LogbookError, match=r"session-logbook\[timeline\]"):
        build_timeline("guitar", [])


def test_a_comp_is_a_table() -> None:
    rows = comp_rows(COMP, SONG, lay_clips(COMP, FILES, TAKES, SONG))
    out = io.StringIO()
    csv.writer(out).writerows(rows)
    read = list(csv.DictReader(io.StringIO(out.getvalue())))
    assert len(read) == len(COMP)
    assert tuple(read[0]) == CSV_HEADER
    assert read[3] == {
        "bars": "17\N{EN DASH}20",
        "take": "2",
        "session": "",
        "source bars": "21\N{EN DASH}24",
        "crossfade ms": "7",
        "starts at s": f"{float(SONG.seconds_at(parse_range('17').start)):.6f}",
        "lasts s": f"{8 * 60 / 61:.6f}".rstrip("0"),
        "file": "audio/take 2.wav",
        "first frame": str(SONG.sample_at(parse_range("21").start, RATE_HZ) + 44100),
        "frames": str(round(8 * 60 / 61 * RATE_HZ)),
        "rate Hz": "44100",
        "stands at frame": str(SONG.sample_at(parse_range("17").start, RATE_HZ)),
        "fills frames": str(round(8 * 60 / 61 * RATE_HZ)),
        "note": "",
    }


def test_without_files_the_table_still_has_its_pieces() -> None:
    rows = comp_rows(COMP, SONG)
    assert [row[0] for row in rows[1:]] == [
        str(piece.bars).replace("-", "\N{EN DASH}") for piece in COMP
    ]
    assert rows[-1][-1] == "end"
    assert {row[7] for row in rows[1:]} == {""}


# Crossfades and their material

STEADY = read_tempo_map("4/4", "120")  # a bar lasts 2 s
BOTH = (TakeSpan(number=1, bars=parse_range("1-4")), TakeSpan(number=2, bars=parse_range("3-8")))
CUT = parse_comp("1-4 take 1\n5-8 take 2 xfade 40ms")


def cut_files(tail: int, head: int) -> list[TakeAudio]:
    """Two files at 1000 Hz: the first goes on for `tail` frames, the other begins `head` early."""
    bar = 2000
    return [
        TakeAudio(take=TakeId(1), path="/a/one.wav", rate_hz=1000, frames=4 * bar + tail),
        TakeAudio(
            take=TakeId(2),
            path="/a/two.wav",
            rate_hz=1000,
            frames=4 * bar + head,
            starts_at=Fraction(8) - Fraction(head, 1000),
        ),
    ]


@pytest.mark.parametrize(
    ("tail", "head", "offsets", "lacks"),
    [
        (500, 500, (20, 20), []),
        (20, 20, (20, 20), []),
        (5, 500, (20, 5), [("after", 15)]),
        (500, 8, (8, 20), [("before", 12)]),
        (0, 8, (8, 0), [("after", 20), ("before", 12)]),
        (0, 0, None, [("after", 20), ("before", 20)]),
    ],
)
def test_a_crossfade_is_as_long_as_the_files_hold_material(
    tail: int, head: int, offsets: tuple[int, int] | None, lacks: list[tuple[str, int]]
) -> None:
    clips = lay_clips(CUT, cut_files(tail, head), BOTH, STEADY)
    assert [(m.at.bar, m.side, m.short_ms) for m in missing_handles(clips)] == [
        (5, *each) for each in lacks
    ]
    track = build_timeline("guitar", clips).tracks[0] if otio() else []
    fades = [item for item in track if hasattr(item, "in_offset")]
    found = [(fade.in_offset.value, fade.out_offset.value) for fade in fades]
    assert found == ([offsets] if offsets else [])


def test_bars_moved_to_another_tempo_are_stretched_to_fill_their_place(tmp_path: Path) -> None:
    library = otio()
    slower = read_tempo_map("4/4", ["1 q=120", "5 q=96"])  # 2 s and 2.5 s a bar
    file = TakeAudio(take=TakeId(1), path="/a b/ü.wav", rate_hz=1000, frames=30_000)
    pieces = parse_comp("1-4 take 1\n5-6 take 1 @ 1-2\n7-8 take 1")
    clips = lay_clips(pieces, [file], [TakeSpan(number=1, bars=parse_range("1-8"))], slower)
    assert [(c.first_frame, c.frames, c.at_frame, c.fills) for c in clips] == [
        (0, 8000, 0, 8000), (0, 4000, 8000, 5000), (13_000, 5000, 13_000, 5000),
    ]  # fmt: skip
    assert [row[-3:-1] for row in comp_rows(pieces, slower, clips)[2:]] == [
        ("8000", "5000"), ("13000", "5000"),
    ]  # fmt: skip
    path = tmp_path / "comp.otio"
    write_timeline(path, "guitar", clips)
    track = library.adapters.read_from_file(str(path)).tracks[0]
    assert [type(item).__name__ for item in track] == ["Clip"] * 3
    assert [item.source_range.duration.value for item in track] == [8000, 5000, 5000]
    assert [[e.time_scalar for e in item.effects] for item in track] == [[], [0.8], []]
    assert track[0].media_reference.target_url == "file:///a%20b/%C3%BC.wav"


def test_a_source_longer_than_its_place_is_trimmed_to_it() -> None:
    files = cut_files(0, 0)
    (longer,) = lay_clips(parse_comp("1-2 take 1 @ 1-4"), files, BOTH, STEADY)
    assert (longer.frames, longer.fills) == (4000, 4000)
    (shorter,) = lay_clips(parse_comp("1-4 take 1 @ 1-2"), files, BOTH, STEADY)
    assert (shorter.frames, shorter.fills) == (4000, 4000)


@pytest.mark.parametrize(
    ("path", "url"),
    [
        ("/studio/take 1#2.wav", "file:///studio/take%201%232.wav"),
        ("audio/50%.wav", "audio/50%25.wav"),
        ("C:\\takes\\one.wav", "file:///C:/takes/one.wav"),
    ],
)
def test_files_are_named_by_their_url(path: str, url: str) -> None:
    """RFC 8089 (file URLs), RFC 3986 (percent-encoding)."""
    assert file_url(path) == url
