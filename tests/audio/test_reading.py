"""Reading samples of the other formats, and files that the system does not give."""

from __future__ import annotations

import os
import struct
import zlib
from functools import cache
from pathlib import Path

import pytest

from logbook.audio.errors import AudioError, Reason
from logbook.audio.facts import FileCue
from logbook.audio.mpeg import frame_header
from logbook.audio.reading import audio_digest, read_audio
from logbook.audio.tag_fields import FileTags
from logbook.audio.tagging import plan_tags

SAMPLES = Path(__file__).parent / "samples"


@pytest.mark.parametrize(
    ("name", "container", "codec", "rate_hz", "depth_bits", "frames"),
    [
        ("plain.wav", "WAV", "PCM", 16000, 16, 4800),
        ("broadcast.wav", "WAV", "PCM", 16000, 24, 4800),
        ("wide.wav", "RF64", "PCM", 16000, 16, 4800),
        ("plain.aiff", "AIFF", "PCM", 16000, 16, 4800),
        ("float.aifc", "AIFF-C", "float PCM", 16000, 32, 4800),
        ("plain.flac", "FLAC", "FLAC", 16000, 16, 4800),
        ("plain.mp3", "MP3", "MP3", 16000, None, 4800),
        ("aac.m4a", "M4A", "AAC", 16000, None, 4800),
        ("alac.m4a", "M4A", "ALAC", 16000, 16, 4800),
        ("vorbis.ogg", "Ogg", "Vorbis", 16000, None, 4800),
        ("opus.opus", "Ogg", "Opus", 48000, None, 14400),
    ],
)
def test_every_format(
    name: str, container: str, codec: str, rate_hz: int, depth_bits: int | None, frames: int
) -> None:
    """Each sample was made as 0.3 s at 16 kHz, so that is what must be heard of it."""
    info = read_audio(SAMPLES / name)
    assert (info.container, info.codec, info.channels) == (container, codec, 1)
    assert (info.rate_hz, info.depth_bits, info.frames) == (rate_hz, depth_bits, frames)
    assert info.duration_s * 10 == 3
    assert info.digest == audio_digest(SAMPLES / name)
    assert info.warnings == ()


def test_samples_of_the_same_sound_in_other_bytes_have_other_digests() -> None:
    names = [path for path in SAMPLES.iterdir() if path.name != "wide.wav"]
    assert len({read_audio(path).digest for path in names}) == len(names)
    # RF64 holds the very bytes that WAV holds.
    assert audio_digest(SAMPLES / "wide.wav") == audio_digest(SAMPLES / "plain.wav")


def test_aiff_markers_become_cues(tmp_path: Path) -> None:
    common = struct.pack(">hIh", 1, 100, 16) + bytes.fromhex("400ebb80000000000000")  # 48 kHz
    marks = struct.pack(">H", 2) + struct.pack(">hIB", 1, 80, 6) + b"chorus\0"
    marks += struct.pack(">hIB", 2, 5, 5) + b"verse"
    sound = struct.pack(">II", 0, 0) + bytes(200)
    content = b"AIFF"
    for ident, data in ((b"COMM", common), (b"MARK", marks), (b"SSND", sound)):
        content += struct.pack(">4sI", ident, len(data)) + data + b"\0" * (len(data) % 2)
    path = tmp_path / "take.aif"
    path.write_bytes(struct.pack(">4sI", b"FORM", len(content)) + content)
    info = read_audio(path)
    assert (info.rate_hz, info.frames) == (48000, 100)
    assert info.cues == (
        FileCue(position_frames=5, label="verse"),
        FileCue(position_frames=80, label="chorus"),
    )


def test_tags_around_mp3_frames_are_not_sound(tmp_path: Path) -> None:
    sound = (SAMPLES / "plain.mp3").read_bytes()
    path = tmp_path / "tagged.mp3"
    ape = b"APETAGEX" + struct.pack("<IIII", 2000, 32, 0, 0) + bytes(8)
    id3v1 = b"TAG" + b"Title".ljust(125, b"\0")
    path.write_bytes(sound + ape + id3v1)
    assert read_audio(path).digest == audio_digest(SAMPLES / "plain.mp3")
    path.write_bytes(b"ID3\x04\0\0\0\0\x02\x00" + bytes(256) + sound + id3v1)
    assert read_audio(path).digest == audio_digest(SAMPLES / "plain.mp3")


def test_an_id3_tag_without_frames_behind_it_is_empty(tmp_path: Path) -> None:
    path = tmp_path / "only-a-tag.mp3"
    path.write_bytes(b"ID3\x04\0\0\0\0\x02\x00" + bytes(256))
    with pytest.raises(AudioError, match="tags, but no sound"):
        read_audio(path)


def test_flac_behind_an_id3_tag_is_flac(tmp_path: Path) -> None:
    path = tmp_path / "take.mp3"
    path.write_bytes(
        b"ID3\x04\0\0\0\0\x02\x00" + bytes(256) + (SAMPLES / "plain.flac").read_bytes()
    )
    info = read_audio(path)
    assert info.codec == "FLAC"
    assert info.digest == audio_digest(SAMPLES / "plain.flac")


def test_frame_headers() -> None:
    """MPEG-1 layer 3, 128 kbit/s, 44.1 kHz, stereo: 417 bytes (ISO/IEC 11172-3, from memory)."""
    frame = frame_header(bytes.fromhex("fffb9000"))
    assert frame is not None
    assert (frame.rate_hz, frame.channels, frame.samples, frame.length) == (44100, 2, 1152, 417)
    assert frame_header(bytes.fromhex("fffb9200")) == frame._replace(length=418)
    assert frame_header(bytes.fromhex("fffd9000")) is None  # layer 2
    assert frame_header(bytes.fromhex("fffbf000")) is None  # no such bit rate


@pytest.mark.parametrize("name", ["plain.flac", "vorbis.ogg", "opus.opus", "alac.m4a", "plain.mp3"])
def test_a_missing_end_is_told(name: str, tmp_path: Path) -> None:
    content = (SAMPLES / name).read_bytes()
    cut = tmp_path / name
    # In an M4A the sound stands before its table of contents; take a piece of the middle there.
    content = content[:-20] if name != "alac.m4a" else content[:400]
    cut.write_bytes(content)
    with pytest.raises(AudioError) as caught:
        read_audio(cut)
    assert caught.value.reason is Reason.TRUNCATED


def test_what_the_system_does_not_give(tmp_path: Path) -> None:
    fifo = tmp_path / "pipe.wav"
    os.mkfifo(fifo)
    for path, said in (
        (tmp_path / "nowhere.wav", "No such file"),
        (tmp_path, "not a regular file"),
        (fifo, "not a regular file"),
        (tmp_path / "a\0b", "NUL"),
        (tmp_path / ("x" * 300), "too long"),
    ):
        with pytest.raises(AudioError, match=said) as caught:
            read_audio(path)
        assert caught.value.reason is Reason.UNREADABLE


@pytest.mark.skipif(os.geteuid() == 0, reason="nothing is forbidden to root")
def test_no_permission(tmp_path: Path) -> None:
    path = tmp_path / "secret.wav"
    path.write_bytes((SAMPLES / "plain.wav").read_bytes())
    path.chmod(0)
    with pytest.raises(AudioError, match="Permission denied"):
        read_audio(path)


def test_a_file_that_grows_while_it_is_read(tmp_path: Path) -> None:
    path = tmp_path / "take.wav"
    path.write_bytes((SAMPLES / "plain.wav").read_bytes())

    def grow(_: int) -> None:
        with open(path, "ab") as file:
            file.write(b"more")

    with pytest.raises(AudioError, match="still being written"):
        read_audio(path, on_bytes=grow)


def test_broken_tags_do_not_cost_the_sound(tmp_path: Path) -> None:
    content = bytearray((SAMPLES / "plain.flac").read_bytes())
    at = content.index(b"title=") - 4
    content[at : at + 4] = b"\xff\xff\xff\xff"  # the length of a comment
    path = tmp_path / "take.flac"
    path.write_bytes(content)
    info = read_audio(path)
    assert info.tags == {}
    assert info.warnings == ("its tags are broken and were left out",)
    assert info.digest == audio_digest(SAMPLES / "plain.flac")


@cache
def gigabytes() -> bytes:
    return zlib.compress(bytes(1 << 28), 9) * 16


@pytest.mark.parametrize("version", [3, 4])
@pytest.mark.parametrize("name", ["plain.mp3", "plain.wav"])
def test_a_tag_that_unpacks_into_gigabytes_is_left_alone(
    name: str, version: int, tmp_path: Path
) -> None:
    """A compressed text frame of 4 MB that would unpack into 4 GB: never unpacked."""
    packed = gigabytes()
    flag = 0x80 if version == 3 else 0x08
    size = struct.pack(">I", len(packed) + 4)
    if version == 4:
        size = bytes(len(packed) + 4 >> shift & 0x7F for shift in (21, 14, 7, 0))
    frame = b"TIT2" + size + bytes([0, flag]) + struct.pack(">I", 1 << 30) + packed
    length = bytes(len(frame) >> shift & 0x7F for shift in (21, 14, 7, 0))
    tag = b"ID3" + bytes([version, 0, 0]) + length + frame
    sound = (SAMPLES / name).read_bytes()
    path = tmp_path / name
    if name == "plain.mp3":
        path.write_bytes(tag + sound)
    else:
        path.write_bytes(sound + b"id3 " + struct.pack("<I", len(tag)) + tag)
    info = read_audio(path)
    assert info.warnings == ("its tags are broken and were left out",)
    assert info.digest == audio_digest(SAMPLES / name)
    with pytest.raises(AudioError) as caught:
        plan_tags(path, FileTags(title="Tune"))
    assert caught.value.reason is Reason.UNWRITABLE
