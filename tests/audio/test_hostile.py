"""Whatever bytes are in a file, reading and tagging end in an answer or in an AudioError."""

from __future__ import annotations

import random
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from logbook.audio.errors import AudioError
from logbook.audio.reading import read_audio
from logbook.audio.tag_fields import FileTags
from logbook.audio.tagging import plan_tags, write_copy

SAMPLES = sorted((Path(__file__).parent / "samples").iterdir())
MAGIC = [b"", b"RIFF\0\0\0\0WAVE", b"RF64\xff\xff\xff\xffWAVEds64", b"FORM\0\0\0\0AIFC", b"fLaC"]
MAGIC += [b"OggS\0\x02", b"\0\0\0\x20ftypM4A ", b"ID3\4\0\0\0\0\2\1", b"\xff\xfb\x90\x64"]


def hostile_bytes(count: int, seed: int) -> Iterator[tuple[str, bytes]]:
    """Names and contents: mutated samples of every format, and random bytes that begin like one.

    A mutation flips bits, overwrites a run, cuts the end, takes out or doubles a piece, or writes
    an extreme number where a length may stand.
    """
    chance = random.Random(seed)
    whole = [(sample.name, sample.read_bytes()) for sample in SAMPLES]
    for number in range(count):
        if number % 8 == 7:
            noise = chance.choice(MAGIC) + chance.randbytes(chance.randrange(4096))
            yield f"noise-{number}", noise
            continue
        name, content = whole[number % len(whole)]
        data = bytearray(content)
        for _ in range(chance.randrange(1, 6)):
            # Headers stand at the start in most formats and at the end in some.
            spread = len(data) if chance.random() < 0.4 else min(len(data), 512)
            at = chance.randrange(spread) if spread else 0
            if chance.random() < 0.2:
                at = max(0, len(data) - 1 - at)
            match chance.randrange(6):
                case 0 if data:
                    data[at] ^= 1 << chance.randrange(8)
                case 1:
                    data[at : at + 8] = chance.randbytes(8)
                case 2:
                    del data[at + 1 + chance.randrange(len(data) + 1) :]
                case 3:
                    del data[at : at + chance.randrange(64)]
                case 4:
                    data[at:at] = data[at : at + chance.randrange(256)]
                case _:
                    extreme = chance.choice(
                        (b"\0" * 4, b"\xff" * 4, b"\x7f\xff\xff\xff", b"\0\0\1")
                    )
                    data[at : at + len(extreme)] = extreme
        yield f"{number}-{name}", bytes(data)


def outcome(path: Path) -> str:
    """What reading the file ends in; any exception but AudioError goes through."""
    refusal = None
    try:
        info = read_audio(path)
    except AudioError as error:
        refusal = error
    if refusal is not None:
        assert str(refusal).strip()
        assert "\n" not in str(refusal)
        return refusal.reason.value
    assert info.frames > 0
    assert info.rate_hz > 0
    assert info.channels > 0
    assert info.digest is not None
    assert len(info.digest) == 64
    return "read"


def test_bytes_of_every_kind_are_read_or_refused(tmp_path: Path) -> None:
    outcomes = []
    for name, content in hostile_bytes(600, seed=4):
        path = tmp_path / name
        path.write_bytes(content)
        outcomes.append(outcome(path))
        path.unlink()
    # The mutations bite, and do not always kill.
    assert {"read", "corrupt", "truncated", "foreign"} <= set(outcomes)


def test_tagging_hostile_files_leaves_nothing_behind(tmp_path: Path) -> None:
    tags = FileTags(title="Tune", writers=("A Writer",), isrc="AA6Q72000047")
    copies = tmp_path / "copies"
    copies.mkdir()
    written = 0
    for name, content in hostile_bytes(200, seed=5):
        path = tmp_path / name
        path.write_bytes(content)
        try:
            plan_tags(path, tags)
            copy = write_copy(path, copies, tags)
        except AudioError:
            assert not list(copies.iterdir())
        else:
            written += 1
            assert read_audio(copy.path).digest == copy.digest
            copy.path.unlink()
        assert path.read_bytes() == content
        path.unlink()
    assert written > 20


@pytest.mark.parametrize("sample", SAMPLES, ids=lambda sample: sample.name)
def test_every_length_a_file_can_be_cut_to_is_told(sample: Path, tmp_path: Path) -> None:
    content = sample.read_bytes()
    path = tmp_path / "cut"
    whole = read_audio(shutil.copy(sample, tmp_path / "whole"))
    for length in range(0, len(content), max(1, len(content) // 97)):
        path.write_bytes(content[:length])
        try:
            info = read_audio(path)
        except AudioError:
            continue
        # What may still be read is a file whose sound is all there, or one that says what is odd.
        assert info.digest == whole.digest or info.warnings
