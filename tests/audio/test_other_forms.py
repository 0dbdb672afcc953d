"""Forms that come home now and then, held against the libraries that wrote them."""

from __future__ import annotations

from pathlib import Path

import pytest

from logbook.audio.errors import AudioError
from logbook.audio.reading import read_audio
from logbook.audio.tag_files import open_tags

FRAMES, RATE = 9600, 48000


@pytest.mark.parametrize("form", ["CAF", "W64"])
@pytest.mark.parametrize("depth", ["PCM_16", "PCM_24", "FLOAT"])
def test_pcm_in_another_box(tmp_path: Path, form: str, depth: str) -> None:
    np = pytest.importorskip("numpy")
    soundfile = pytest.importorskip("soundfile")
    path = tmp_path / "x.take"
    noise = np.random.default_rng(1).uniform(-0.5, 0.5, (FRAMES, 2))
    soundfile.write(path, noise, RATE, format=form, subtype=depth)
    info = read_audio(path)
    assert (info.container, info.frames, info.rate_hz, info.channels) == (form, FRAMES, RATE, 2)
    assert info.codec == ("float PCM" if depth == "FLOAT" else "PCM")
    assert info.depth_bits == {"PCM_16": 16, "PCM_24": 24, "FLOAT": 32}[depth]
    assert len(info.digest or "") == 64
    with pytest.raises(AudioError, match="tags of"):
        open_tags(path, info)
    data = path.read_bytes()
    for cut in (3, 20, 60, len(data) // 2):
        path.write_bytes(data[:cut])
        with pytest.raises(AudioError):
            read_audio(path)


@pytest.mark.parametrize(
    ("name", "codec", "container"),
    [("x.aac", "aac", "AAC"), ("x.wv", "wavpack", "WavPack"), ("x.mkv", "pcm_s16le", "Matroska")],
)
def test_forms_that_av_writes(tmp_path: Path, name: str, codec: str, container: str) -> None:
    np = pytest.importorskip("numpy")
    av = pytest.importorskip("av")
    path = tmp_path / name
    forms = {"aac": "fltp", "wavpack": "s16p", "pcm_s16le": "s16"}
    tone = (np.sin(np.arange(FRAMES) / 9) * 9000).astype(np.int16)[None, :]
    with av.open(str(path), "w") as out:
        stream = out.add_stream(codec, rate=RATE, layout="mono")
        resampler = av.AudioResampler(format=forms[codec], layout="mono", rate=RATE)
        frame = av.AudioFrame.from_ndarray(tone, format="s16", layout="mono")
        frame.sample_rate = RATE
        for ready in resampler.resample(frame):
            out.mux(stream.encode(ready))
        out.mux(stream.encode(None))
    info = read_audio(path)
    assert (info.container, info.rate_hz, info.channels) == (container, RATE, 1)
    assert abs(info.frames - FRAMES) <= 3 * 1024
    assert read_audio(path).digest == info.digest


@pytest.mark.parametrize(
    ("head", "says"),
    [(b"\xff\xd8\xff\xe0", "a picture"), (b"MAC \x00", "an APE file"), (b"PK\x03\x04", "unpack"),
     (b"caff\x00\x01", "no sound"), (b"wvpk\x00", "WavPack header"),
     (b"\xff\xf1\x50\x80\x00", "no AAC frames"),
     (b"\x1a\x45\xdf\xa3\x00", "broken"), (b"riff\x2e\x91\xcf\x11\xa5\xd6\x28\xdb", "no sound")],
)  # fmt: skip
def test_what_is_not_read_or_broken_is_one_sentence(tmp_path: Path, head: bytes, says: str) -> None:
    path = tmp_path / "x.wav"
    path.write_bytes(head + bytes(200))
    with pytest.raises(AudioError, match=says):
        read_audio(path)
