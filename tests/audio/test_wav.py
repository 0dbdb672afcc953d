"""WAV and RF64 built by hand: every chunk that is read, and every way a header can be wrong."""

from __future__ import annotations

import hashlib
import struct
from pathlib import Path

import pytest

from logbook.audio.errors import AudioError, Reason
from logbook.audio.facts import FileCue
from logbook.audio.reading import read_audio

SAMPLES = Path(__file__).parent / "samples"


def chunk(ident: bytes, content: bytes, *, declared: int | None = None) -> bytes:
    length = len(content) if declared is None else declared
    return struct.pack("<4sI", ident, length) + content + b"\0" * (len(content) % 2)


def pcm_format(
    *, tag: int = 1, channels: int = 2, rate_hz: int = 48000, bits: int = 16, align: int = 4
) -> bytes:
    return chunk(b"fmt ", struct.pack("<HHIIHH", tag, channels, rate_hz, 0, align, bits))


def riff(*chunks: bytes, kind: bytes = b"RIFF", length: int | None = None) -> bytes:
    content = b"WAVE" + b"".join(chunks)
    return kind + struct.pack("<I", len(content) if length is None else length) + content


SOUND = bytes(range(256)) * 4  # 256 frames of 4 bytes


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "take.wav"


def bext(*, version: int = 2, loudness: tuple[int, ...] = (), description: bytes = b"") -> bytes:
    """EBU Tech 3285 v2: fixed fields, then the coding history."""
    fixed = struct.pack(
        "<256s32s32s10s8sQH64s5h180s",
        description,
        b"Originator",
        b"REF",
        b"2024-01-02",
        b"10:11:12",
        2**32 + 17,
        version,
        bytes(range(64)),
        *(loudness or (0,) * 5),
        b"",
    )
    assert len(fixed) == 602
    return chunk(b"bext", fixed + b"A=PCM,F=48000,W=24,M=stereo\r\n")


def test_the_plain_facts(path: Path) -> None:
    path.write_bytes(riff(pcm_format(), chunk(b"data", SOUND)))
    info = read_audio(path)
    assert (info.container, info.codec, info.depth_bits, info.channels) == ("WAV", "PCM", 16, 2)
    assert (info.rate_hz, info.frames) == (48000, 256)
    assert info.digest == hashlib.sha256(SOUND).hexdigest()
    assert (info.size_bytes, info.modified_ns) == (
        path.stat().st_size,
        path.stat().st_mtime_ns,
    )
    assert (info.broadcast, info.ixml, info.cues, info.warnings) == (None, None, (), ())
    assert info.lossless


def test_without_a_digest_the_sound_is_not_read(path: Path) -> None:
    path.write_bytes(riff(pcm_format(), chunk(b"data", SOUND)))
    told: list[int] = []
    assert read_audio(path, digest=False, on_bytes=told.append).digest is None
    assert told == []
    read_audio(path, on_bytes=told.append)
    assert sum(told) == len(SOUND)


def test_loudness_of_a_version_2_chunk(path: Path) -> None:
    loudness = (-2310, 640, -105, -1820, 0x7FFF)  # hundredths; 0x7FFF says not set
    path.write_bytes(riff(bext(loudness=loudness), pcm_format(), chunk(b"data", SOUND)))
    broadcast = read_audio(path).broadcast
    assert broadcast is not None
    assert broadcast.version == 2
    assert broadcast.loudness_lufs == -23.1
    assert broadcast.loudness_range_lu == 6.4
    assert broadcast.max_true_peak_dbtp == -1.05
    assert broadcast.max_momentary_lufs == -18.2
    assert broadcast.max_short_term_lufs is None
    assert broadcast.time_reference_samples == 2**32 + 17
    assert broadcast.umid_hex == bytes(range(64)).hex()
    assert broadcast.coding_history == "A=PCM,F=48000,W=24,M=stereo"


def test_version_1_has_no_loudness(path: Path) -> None:
    path.write_bytes(riff(bext(version=1), pcm_format(), chunk(b"data", SOUND)))
    broadcast = read_audio(path).broadcast
    assert broadcast is not None
    assert broadcast.loudness_lufs is None


@pytest.mark.parametrize("coding", ["utf-8", "latin-1"])
def test_a_description_beyond_ascii(path: Path, coding: str) -> None:
    said = bext(description="Geländer, Strophe".encode(coding))
    path.write_bytes(riff(said, pcm_format(), chunk(b"data", SOUND)))
    broadcast = read_audio(path).broadcast
    assert broadcast is not None
    assert broadcast.description == "Geländer, Strophe"


def test_a_broadcast_chunk_cut_short_is_left_out(path: Path) -> None:
    path.write_bytes(riff(chunk(b"bext", b"x" * 300), pcm_format(), chunk(b"data", SOUND)))
    info = read_audio(path)
    assert info.broadcast is None
    assert info.warnings == ("the broadcast chunk is cut short and was left out",)


@pytest.mark.parametrize(
    ("circled", "expected"), [("TRUE", True), ("FALSE", False), ("true", True), ("maybe", None)]
)
def test_ixml(path: Path, circled: str, expected: bool | None) -> None:
    text = (
        '<?xml version="1.0" encoding="UTF-8"?><BWFXML><PROJECT>Low Tide</PROJECT>'
        f"<SCENE>12</SCENE><TAKE>003</TAKE><CIRCLED>{circled}</CIRCLED>"
        "<NOTE>string noise &amp; a late entry</NOTE><TAPE/></BWFXML>\0\0"
    )
    path.write_bytes(riff(pcm_format(), chunk(b"data", SOUND), chunk(b"iXML", text.encode())))
    ixml = read_audio(path).ixml
    assert ixml is not None
    assert (ixml.project, ixml.scene, ixml.take, ixml.tape) == ("Low Tide", "12", "003", None)
    assert ixml.note == "string noise & a late entry"
    assert ixml.circled is expected


@pytest.mark.parametrize(
    "text",
    [
        b"\xff\xfe\0garbage",
        b'<!DOCTYPE a [<!ENTITY b "bbbb"><!ENTITY c "&b;&b;">]><BWFXML><TAKE>&c;</TAKE></BWFXML>',
        b"",
    ],
)
def test_what_is_no_ixml_is_a_warning(path: Path, text: bytes) -> None:
    path.write_bytes(riff(pcm_format(), chunk(b"data", SOUND), chunk(b"iXML", text)))
    info = read_audio(path)
    assert info.ixml is None
    assert len(info.warnings) == 1
    assert info.frames == 256


def test_cues_with_labels_and_a_long_region(path: Path) -> None:
    cues = b"".join(
        struct.pack("<II4sIII", ident, place, b"data", 0, 0, place)
        for ident, place in ((1, 200), (2, 10), (3, 90))
    )
    labels = (
        b"adtl"
        + chunk(b"labl", struct.pack("<I", 1) + b"chorus\0")
        + chunk(b"labl", struct.pack("<I", 2) + "Brücke\0".encode("latin-1"))
        + chunk(b"ltxt", struct.pack("<II4sHHHH", 1, 1_000_000, b"rgn ", 0, 0, 0, 0))
    )
    path.write_bytes(
        riff(
            pcm_format(),
            chunk(b"data", SOUND),
            chunk(b"cue ", struct.pack("<I", 3) + cues),
            chunk(b"LIST", labels),
        )
    )
    assert read_audio(path).cues == (
        FileCue(position_frames=10, label="Brücke"),
        FileCue(position_frames=90),
        FileCue(position_frames=200, label="chorus"),
    )


def test_info_texts_and_id3_together_prefer_id3(path: Path) -> None:
    info_list = b"INFO" + chunk(b"INAM", b"Old\0") + chunk(b"IGNR", b"Folk\0")
    # One ID3v2.4 text frame, TIT2 in UTF-8.
    frame = b"TIT2" + struct.pack(">IH", 4, 0) + b"\x03New"
    id3 = b"ID3\x04\0\0" + struct.pack(">I", len(frame)) + frame
    path.write_bytes(
        riff(pcm_format(), chunk(b"LIST", info_list), chunk(b"data", SOUND), chunk(b"id3 ", id3))
    )
    info = read_audio(path)
    assert info.tags == {"title": ("New",), "genre": ("Folk",)}
    assert info.raw_tags == {"INAM": ("Old",), "IGNR": ("Folk",), "TIT2": ("New",)}


def test_extensible_names_the_valid_bits(path: Path) -> None:
    content = struct.pack("<HHIIHH", 0xFFFE, 2, 96000, 0, 8, 32)
    content += struct.pack("<HHI", 22, 24, 3) + struct.pack("<H", 1) + b"\0" * 14
    path.write_bytes(riff(chunk(b"fmt ", content), chunk(b"data", SOUND)))
    info = read_audio(path)
    assert (info.codec, info.depth_bits, info.frames) == ("PCM", 24, 128)


def test_twenty_bits_lie_in_three_bytes(path: Path) -> None:
    path.write_bytes(riff(pcm_format(bits=20, align=6), chunk(b"data", SOUND[:600])))
    info = read_audio(path)
    assert (info.depth_bits, info.frames) == (20, 100)


def ds64(data_length: int, frames: int, table: bytes = b"") -> bytes:
    """EBU Tech 3306: 64-bit lengths of the file, the sound, the frames, and of other chunks."""
    fields = struct.pack("<QQQI", data_length + 80, data_length, frames, len(table) // 12)
    return chunk(b"ds64", fields + table)


def test_rf64_of_more_than_4_gb(path: Path) -> None:
    """A sparse file: 4.3 GB long, a few blocks on the disk."""
    frames = 1_100_000_000
    head = riff(
        ds64(4 * frames, frames),
        bext(),
        pcm_format(),
        struct.pack("<4sI", b"data", 0xFFFFFFFF),
        kind=b"RF64",
        length=0xFFFFFFFF,
    )
    with open(path, "wb") as file:
        file.write(head)
        file.truncate(len(head) + 4 * frames)
        file.seek(0, 2)
        labels = b"adtl" + chunk(b"labl", struct.pack("<I", 1) + b"late\0")
        cue = struct.pack("<I", 1) + struct.pack("<II4sIII", 1, 7, b"data", 0, 0, 4_000_000_000)
        file.write(chunk(b"cue ", cue) + chunk(b"LIST", labels))
    info = read_audio(path, digest=False)
    assert (info.container, info.frames) == ("RF64", frames)
    assert info.size_bytes > 4 * 2**30
    assert info.duration_s * 48000 == frames
    assert info.broadcast is not None
    assert info.cues == (FileCue(position_frames=4_000_000_000, label="late"),)
    assert info.warnings == ()


def test_rf64_cut_short(path: Path) -> None:
    head = riff(
        ds64(4_400_000_000, 1_100_000_000),
        pcm_format(),
        struct.pack("<4sI", b"data", 0xFFFFFFFF) + SOUND,
        kind=b"BW64",
    )
    path.write_bytes(head)
    with pytest.raises(AudioError, match=r"cut short: 0\.01 s of the 22916\.67 s") as caught:
        read_audio(path)
    assert caught.value.reason is Reason.TRUNCATED


def test_a_file_that_was_never_closed(path: Path) -> None:
    for declared in (0, 0xFFFFFFFF):
        path.write_bytes(riff(pcm_format(), chunk(b"data", SOUND, declared=declared)))
        info = read_audio(path)
        assert info.frames == 256
        assert info.digest == hashlib.sha256(SOUND).hexdigest()
        assert "never closed" in info.warnings[0]


def test_a_last_frame_that_is_not_whole_is_left_out(path: Path) -> None:
    path.write_bytes(riff(pcm_format(), chunk(b"data", SOUND + b"xx")))
    info = read_audio(path)
    assert info.frames == 256
    assert info.digest == hashlib.sha256(SOUND).hexdigest()
    assert info.warnings == ("the last frame is not whole and was left out",)


@pytest.mark.parametrize(
    ("content", "reason", "said"),
    [
        (b"", Reason.EMPTY, "an empty file"),
        (riff(pcm_format(), chunk(b"data", b"")), Reason.EMPTY, "no sound behind it"),
        (riff(pcm_format(), chunk(b"data", b"", declared=9)), Reason.TRUNCATED, "0.00 s of"),
        (riff(pcm_format()), Reason.CORRUPT, "no data chunk"),
        (riff(chunk(b"data", SOUND)), Reason.CORRUPT, "no whole format chunk"),
        (riff(pcm_format(channels=0), chunk(b"data", SOUND)), Reason.CORRUPT, "0 channels"),
        (riff(pcm_format(rate_hz=0), chunk(b"data", SOUND)), Reason.CORRUPT, "0 Hz"),
        (riff(pcm_format(align=3), chunk(b"data", SOUND)), Reason.CORRUPT, "3 bytes a frame"),
        (riff(pcm_format(tag=2), chunk(b"data", SOUND)), Reason.FOREIGN, "codec 0x0002"),
        (riff(pcm_format(), chunk(b"data", SOUND))[:900], Reason.TRUNCATED, "cut short"),
        (b"RIFF\x10\0\0\0RMIDLIST", Reason.FOREIGN, "not an audio file"),
        (b"Takes of Tuesday\n", Reason.FOREIGN, "WAV, W64, AIFF, CAF, FLAC"),
        (b"\x89PNG\r\n\x1a\n" + SOUND, Reason.FOREIGN, "not an audio file"),
        (b"\0" * 4096, Reason.FOREIGN, "nothing but zeros"),
    ],
)
def test_what_cannot_be_used_says_why(
    path: Path, content: bytes, reason: Reason, said: str
) -> None:
    path.write_bytes(content)
    with pytest.raises(AudioError) as caught:
        read_audio(path)
    assert caught.value.reason is reason
    assert said in str(caught.value)
    assert caught.value.path == path
