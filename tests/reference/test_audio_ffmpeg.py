"""Audio files written by ffmpeg, read by us and by ffprobe.

Source of the expected values: ffmpeg and ffprobe (general-purpose, ffmpeg.org), as installed.
ffprobe counts a lossy stream's duration from the encoder's delay on, so what is heard is its
duration less its start time, and the end padding stays in for some formats: hence one codec
frame of tolerance there. What ffmpeg decodes is the stricter check: the same number of samples.
"""

from __future__ import annotations

import hashlib
import json
import shutil
import subprocess
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from logbook.audio.reading import read_audio
from logbook.audio.tag_fields import Credit, FileTags, Performer
from logbook.audio.tagging import write_copy

pytestmark = pytest.mark.skipif(
    shutil.which("ffmpeg") is None or shutil.which("ffprobe") is None,
    reason="ffmpeg and ffprobe are not installed",
)

TAGS = {"title": "Low Tide", "artist": "The Invented", "album": "Nowhere", "date": "2024-05-06"}
BROADCAST = {
    "description": "gtr take 4",
    "originator": "A Recorder",
    "originator_reference": "REF0001",
    "origination_date": "2024-01-02",
    "origination_time": "10:11:12",
    "time_reference": "172800000",
}


@dataclass(frozen=True)
class Case:
    name: str
    options: tuple[str, ...]
    container: str
    codec: str
    depth_bits: int | None
    frame: int = 1  # samples in a frame of the codec
    tags: tuple[str, ...] = ("title", "artist", "album", "date")
    raw: str = ""  # the raw format whose bytes are the sound

    def __str__(self) -> str:
        return self.name


ALL = ("title", "artist", "album", "date")
CASES = [
    Case("pcm16.wav", (), "WAV", "PCM", 16, raw="s16le"),
    Case("pcm24.wav", ("-c:a", "pcm_s24le"), "WAV", "PCM", 24, raw="s24le"),
    Case("pcm32.wav", ("-c:a", "pcm_s32le"), "WAV", "PCM", 32, raw="s32le"),
    Case("pcm8.wav", ("-c:a", "pcm_u8"), "WAV", "PCM", 8, raw="u8"),
    Case("float.wav", ("-c:a", "pcm_f32le"), "WAV", "float PCM", 32, raw="f32le"),
    Case("float64.wav", ("-c:a", "pcm_f64le"), "WAV", "float PCM", 64, raw="f64le"),
    Case("alaw.wav", ("-c:a", "pcm_alaw"), "WAV", "A-law", 8, raw="alaw"),
    Case("mulaw.wav", ("-c:a", "pcm_mulaw"), "WAV", "mu-law", 8, raw="mulaw"),
    Case("wide.wav", ("-rf64", "always"), "RF64", "PCM", 16, raw="s16le"),
    Case("pcm.aiff", ("-write_id3v2", "1"), "AIFF", "PCM", 16, raw="s16be"),
    Case("named.aiff", (), "AIFF", "PCM", 16, tags=("title",), raw="s16be"),
    Case("pcm24.aif", ("-c:a", "pcm_s24be", "-write_id3v2", "1"), "AIFF", "PCM", 24, raw="s24be"),
    Case("swapped.aifc", ("-f", "aiff", "-c:a", "pcm_s16le"), "AIFF-C", "PCM", 16, tags=()),
    Case("float.aifc", ("-f", "aiff", "-c:a", "pcm_f32be"), "AIFF-C", "float PCM", 32, tags=()),
    Case("pcm.flac", (), "FLAC", "FLAC", 16),
    Case("pcm24.flac", ("-sample_fmt", "s32"), "FLAC", "FLAC", 24),
    Case("cbr.mp3", ("-b:a", "128k"), "MP3", "MP3", None, 1152),
    Case("vbr.mp3", ("-q:a", "4"), "MP3", "MP3", None, 1152),
    Case("bare.mp3", ("-write_xing", "0"), "MP3", "MP3", None, 1152),
    Case("old.mp3", ("-id3v2_version", "3"), "MP3", "MP3", None, 1152),
    Case("aac.m4a", ("-c:a", "aac"), "M4A", "AAC", None, 1024),
    Case("front.m4a", ("-c:a", "aac", "-movflags", "+faststart"), "M4A", "AAC", None, 1024),
    Case("alac.m4a", ("-c:a", "alac"), "M4A", "ALAC", 16),
    Case("alac24.m4a", ("-c:a", "alac", "-sample_fmt", "s32p"), "M4A", "ALAC", 24),
    Case("vorbis.ogg", ("-c:a", "libvorbis"), "Ogg", "Vorbis", None),
    Case("opus.opus", ("-c:a", "libopus"), "Ogg", "Opus", None, 960),
]
# An extension that says nothing, and one that lies: the format is told by the bytes.
MISNAMED = [("pcm.flac", "take.wav"), ("vorbis.ogg", "take"), ("cbr.mp3", "take.m4a")]


def ffmpeg(*arguments: str | Path) -> bytes:
    command = ["ffmpeg", "-v", "error", "-y", *arguments]
    return subprocess.run(command, check=True, capture_output=True).stdout


def ffprobe(path: Path) -> dict[str, Any]:
    """The first stream and all tags as ffprobe gives them."""
    command = ["ffprobe", "-v", "error", "-of", "json", "-show_streams", "-show_format", path]
    found = json.loads(subprocess.run(command, check=True, capture_output=True).stdout)
    stream: dict[str, Any] = found["streams"][0]
    tags = {**stream.get("tags", {}), **found["format"].get("tags", {})}
    stream["tags"] = {key.lower(): value for key, value in tags.items()}
    return stream


@pytest.fixture(scope="session")
def files(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """A stereo file of every case, made once; no test may change them."""
    folder = tmp_path_factory.mktemp("ffmpeg")
    return {case.name: make(folder, case) for case in CASES}


def make(folder: Path, case: Case, *, rate_hz: int = 44100, channels: int = 2) -> Path:
    """A file of 1.2345 s: sine tones, no whole number of any codec's frames."""
    path = folder / case.name
    source = f"sine=frequency=330:sample_rate={rate_hz}:duration=1.2345"
    said = [part for key, value in TAGS.items() for part in ("-metadata", f"{key}={value}")]
    ffmpeg("-f", "lavfi", "-i", source, "-ac", str(channels), *said, *case.options, path)
    return path


@pytest.mark.parametrize("name", ["pcm16.wav", "pcm.aiff", "vbr.mp3", "aac.m4a", "opus.opus"])
def test_mono_files(name: str, tmp_path: Path) -> None:
    case = next(case for case in CASES if case.name == name)
    assert_as_ffprobe_says(case, make(tmp_path, case, channels=1), channels=1)


@pytest.mark.parametrize("case", CASES, ids=str)
def test_what_ffprobe_says_is_what_we_say(case: Case, files: dict[str, Path]) -> None:
    assert_as_ffprobe_says(case, files[case.name], channels=2)


def assert_as_ffprobe_says(case: Case, path: Path, *, channels: int) -> None:
    ours, theirs = read_audio(path), ffprobe(path)
    assert (ours.container, ours.codec) == (case.container, case.codec)
    assert ours.depth_bits == case.depth_bits
    assert ours.rate_hz == int(theirs["sample_rate"])
    assert ours.channels == theirs["channels"] == channels
    heard_s = Fraction(theirs["duration"]) - max(Fraction(0), Fraction(theirs.get("start_time", 0)))
    tolerance_s = Fraction(case.frame, ours.rate_hz) + Fraction(1, 1_000_000)  # as printed
    assert abs(ours.duration_s - heard_s) <= tolerance_s
    for tag in case.tags:
        assert ours.tags[tag] == (theirs["tags"][tag],) == (TAGS[tag],)


@pytest.mark.parametrize("rate_hz", [22050, 96000])
@pytest.mark.parametrize("name", ["pcm24.wav", "wide.wav", "named.aiff", "pcm.flac", "alac.m4a"])
def test_frames_are_counted_at_every_rate(name: str, rate_hz: int, tmp_path: Path) -> None:
    case = next(case for case in CASES if case.name == name)
    ours = read_audio(make(tmp_path, case, rate_hz=rate_hz))
    assert ours.rate_hz == rate_hz
    assert ours.duration_s == Fraction(ours.frames, rate_hz)
    assert ours.frames == decoded_frames(tmp_path / case.name)


def decoded_frames(path: Path) -> int:
    return len(ffmpeg("-i", path, "-f", "s16le", "-ac", "1", "-")) // 2


@pytest.mark.parametrize("case", CASES, ids=str)
def test_frames_are_those_that_are_decoded(case: Case, files: dict[str, Path]) -> None:
    path = files[case.name]
    # ffmpeg drops the last part of an AAC frame, which the edit list says is heard.
    tolerance = case.frame if case.codec == "AAC" else 0
    assert abs(read_audio(path).frames - decoded_frames(path)) <= tolerance


@pytest.mark.parametrize("case", [case for case in CASES if case.raw], ids=str)
def test_the_digest_of_raw_samples_is_their_sha256(case: Case, files: dict[str, Path]) -> None:
    path = files[case.name]
    raw = ffmpeg("-i", path, "-f", case.raw, "-c", "copy", "-")
    assert read_audio(path).digest == hashlib.sha256(raw).hexdigest()


@pytest.mark.parametrize("case", [case for case in CASES if case.codec != "AAC"], ids=str)
def test_the_digest_survives_a_retagging_copy(
    case: Case, files: dict[str, Path], tmp_path: Path
) -> None:
    """ffmpeg copies the packets and lays everything else anew (and an AAC file's last frame)."""
    path = files[case.name]
    copy = tmp_path / f"copy{path.suffix if path.suffix != '.aifc' else '.aiff'}"
    ffmpeg("-i", path, "-c", "copy", "-metadata", "title=" + "x" * 3000, copy)
    assert read_audio(copy).digest == read_audio(path).digest
    assert copy.read_bytes() != path.read_bytes()


@pytest.mark.parametrize("name", ["vorbis.ogg", "opus.opus"])
def test_the_digest_survives_another_layout_of_pages(
    name: str, files: dict[str, Path], tmp_path: Path
) -> None:
    relaid = tmp_path / name
    ffmpeg("-i", files[name], "-c", "copy", "-page_duration", "60000", relaid)
    assert relaid.read_bytes().count(b"OggS") > files[name].read_bytes().count(b"OggS")
    assert read_audio(relaid).digest == read_audio(files[name]).digest


def test_other_sound_has_another_digest(files: dict[str, Path], tmp_path: Path) -> None:
    digests = {read_audio(path).digest for path in files.values()}
    louder = tmp_path / "louder.wav"
    ffmpeg("-i", files["pcm16.wav"], "-af", "volume=0.5", louder)
    assert read_audio(louder).digest not in digests


@pytest.mark.parametrize("container", ["broadcast.wav", "wide.wav"])
def test_the_broadcast_chunk(container: str, tmp_path: Path) -> None:
    options = ["-write_bext", "1", *(("-rf64", "always") if container == "wide.wav" else ())]
    said = [part for key, value in BROADCAST.items() for part in ("-metadata", f"{key}={value}")]
    path = tmp_path / container
    source = "sine=sample_rate=48000:duration=1"
    ffmpeg("-f", "lavfi", "-i", source, *said, *options, path)
    ours, theirs = read_audio(path).broadcast, ffprobe(path)["tags"]
    assert ours is not None
    assert ours.description == BROADCAST["description"] == theirs["comment"]
    assert ours.originator == BROADCAST["originator"] == theirs["encoded_by"]
    assert ours.originator_reference == BROADCAST["originator_reference"]
    assert ours.date == BROADCAST["origination_date"] == theirs["date"]
    assert ours.time == BROADCAST["origination_time"] == theirs["creation_time"]
    assert ours.time_reference_samples == int(BROADCAST["time_reference"])
    assert ours.time_reference_samples == int(theirs["time_reference"])


def test_a_plain_wav_has_no_broadcast_chunk(files: dict[str, Path]) -> None:
    assert read_audio(files["pcm16.wav"]).broadcast is None


@pytest.mark.parametrize(("name", "misnamed"), MISNAMED)
def test_the_extension_is_not_believed(
    name: str, misnamed: str, files: dict[str, Path], tmp_path: Path
) -> None:
    wrong = tmp_path / misnamed
    shutil.copyfile(files[name], wrong)
    assert read_audio(wrong).codec == read_audio(files[name]).codec


def test_what_a_pipe_left_open_is_counted(files: dict[str, Path], tmp_path: Path) -> None:
    """ffmpeg cannot fill in the lengths when it writes to a pipe, as a stopped recorder cannot."""
    whole = files["pcm16.wav"]
    for kind in ("wav", "flac"):
        piped = tmp_path / f"piped.{kind}"
        piped.write_bytes(ffmpeg("-i", whole, "-f", kind, "-"))
        info = read_audio(piped)
        assert info.frames == read_audio(whole).frames
        assert len(info.warnings) == 1


TAGGED = FileTags(
    title="High Tide",
    artist="The Invented",
    writers=("Ada Writer",),
    lyricists=("Lou Words",),
    performers=(Performer("Pat Player", "acoustic guitar"), Performer("Lee Low", "bass")),
    credits=(Credit("producer", "Pro Ducer"), Credit("assistant", "As Sistant")),
    isrc="AA-6Q7-20-00047",
    tempo_bpm=Fraction(96),
    key="Db major",
    date="2024-05-06",
)


@pytest.mark.parametrize("case", CASES, ids=str)
def test_ffprobe_reads_back_what_was_written(
    case: Case, files: dict[str, Path], tmp_path: Path
) -> None:
    path = files[case.name]
    written = write_copy(path, tmp_path / "copies", TAGGED).path
    tags = ffprobe(written)["tags"]
    assert tags["title"] == "High Tide"
    assert tags["artist"] == "The Invented"
    assert tags["date"] == "2024-05-06"
    assert decoded_frames(written) == decoded_frames(path)
    if case.container in ("WAV", "RF64"):  # ffprobe does not look at ID3 beside INFO chunks
        assert tags["imus"] == "Ada Writer"
    else:
        assert tags["composer"] == "Ada Writer"
        assert tags.get("isrc", tags.get("tsrc")) == "AA6Q72000047"
        assert tags.get("initialkey", tags.get("tkey")) == "Db"
        assert tags.get("lyricist", tags.get("text")) == "Lou Words"
        if case.container != "M4A":  # this ffprobe passes over the tempo atom
            assert tags.get("bpm", tags.get("tbpm")) == "96"
    if case.container in ("FLAC", "Ogg", "M4A"):
        assert "Pat Player (acoustic guitar)" in tags["performer"]
        assert "Lee Low (bass)" in tags["performer"]
        assert tags["producer"] == "Pro Ducer"
        assert tags["credit"] == "assistant: As Sistant"


def test_a_plain_wav_without_info_shows_its_id3_tag(tmp_path: Path) -> None:
    bare = tmp_path / "bare.wav"
    options = ["-bitexact", "-map_metadata", "-1", "-fflags", "+bitexact"]
    ffmpeg("-f", "lavfi", "-i", "sine=duration=1", *options, bare)
    tags = ffprobe(write_copy(bare, tmp_path / "copies", TAGGED).path)["tags"]
    assert (tags["title"], tags["composer"], tags["tsrc"]) == (
        "High Tide",
        "Ada Writer",
        "AA6Q72000047",
    )
