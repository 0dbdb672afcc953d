"""WAV, broadcast WAV and RF64/BW64 files: format, length, markers, broadcast and iXML chunks.

Sources: RIFF WAVE (Multimedia Programming Interface and Data Specifications 1.0, 1991, and its
WAVEFORMATEXTENSIBLE supplement), EBU Tech 3285 version 2 (bext), EBU Tech 3306 (RF64), iXML 2.10.

wavinfo takes the bext and iXML chunks apart. The walk to them is our own (`chunks`): wavinfo's
stops at a file that is cut short, and at a marked region longer than 65,535 samples.
"""

from __future__ import annotations

import struct
from typing import Any, BinaryIO, NamedTuple

from logbook.audio.chunks import Chunk, list_chunks, riff_chunks, with_closed_data
from logbook.audio.errors import Reason
from logbook.audio.facts import BroadcastInfo, FileCue, IxmlInfo
from logbook.audio.id3 import LONGEST_TAG
from logbook.audio.layout import FormatError, Layout, TruncatedError
from logbook.audio.text_chunks import SMALL_CHUNK, decode_text, is_utf8, riff_text

_BEXT_FIXED = 602  # bytes before the coding history
_LOUDNESS_UNSET = 327.67  # 0x7FFF hundredths, EBU Tech 3285 v2
_MOST_CUES = 10_000
_EXTENSIBLE = 0xFFFE
_CODECS = {1: "PCM", 3: "float PCM", 6: "A-law", 7: "mu-law"}


class _Format(NamedTuple):
    codec: str
    channels: int
    rate_hz: int
    frame_bytes: int
    depth_bits: int


def read_wav(file: BinaryIO, size: int) -> Layout:
    """Everything a WAV or RF64 file of `size` bytes says, save its sound.

    Raises `FormatError` when the format is foreign or contradicts itself or the sound is missing.
    """
    file.seek(0)
    kind = file.read(4)
    chunks, unclosed = with_closed_data(riff_chunks(file, size), size)
    format_ = _format(file, _first(chunks, b"fmt "))
    data = _first(chunks, b"data")
    if data is None:
        raise FormatError(Reason.CORRUPT, "the WAV file has no data chunk, so no sound")
    warnings: list[str] = []
    if unclosed:
        warnings.append(
            "the recorder never closed this file; its sound was counted to the end of the file"
        )
    length = data.present
    if data.declared > data.present:
        raise TruncatedError(
            data.declared // format_.frame_bytes,
            data.present // format_.frame_bytes,
            format_.rate_hz,
        )
    if length % format_.frame_bytes:
        warnings.append("the last frame is not whole and was left out")
        length -= length % format_.frame_bytes
    id3 = _first(chunks, b"id3 ") or _first(chunks, b"ID3 ")
    broadcast, remarks = _broadcast(file, _first(chunks, b"bext"))
    warnings += remarks
    ixml, remarks = _ixml(file, _first(chunks, b"iXML"))
    warnings += remarks
    return Layout(
        container="WAV" if kind == b"RIFF" else "RF64",
        codec=format_.codec,
        rate_hz=format_.rate_hz,
        depth_bits=format_.depth_bits,
        channels=format_.channels,
        frames=length // format_.frame_bytes,
        sound=((data.start, length),),
        id3=id3.read(file, LONGEST_TAG + 1) if id3 else b"",
        text=riff_text(file, chunks),
        broadcast=broadcast,
        ixml=ixml,
        cues=_cues(file, chunks),
        warnings=tuple(warnings),
    )


def _first(chunks: list[Chunk], ident: bytes) -> Chunk | None:
    return next((chunk for chunk in chunks if chunk.ident == ident), None)


def _format(file: BinaryIO, chunk: Chunk | None) -> _Format:
    data = chunk.read(file, 64) if chunk else b""
    if len(data) < 16:
        raise FormatError(Reason.CORRUPT, "the WAV file has no whole format chunk")
    tag, channels, rate, _bytes_per_s, align, bits = struct.unpack_from("<HHIIHH", data)
    depth = bits
    if tag == _EXTENSIBLE and len(data) >= 26:
        valid, _mask, tag = struct.unpack_from("<HIH", data, 18)
        depth = valid or bits
    if tag not in _CODECS:
        raise FormatError(
            Reason.FOREIGN,
            f"a WAV file with codec 0x{tag:04X}",
            "only PCM, float PCM, A-law and mu-law are read in WAV",
        )
    whole = channels * ((bits + 7) // 8)
    align = align or whole
    if not (channels and rate and 1 <= bits <= 64 and 1 <= depth <= bits) or (
        align % channels or not whole <= align <= 8 * channels
    ):
        raise FormatError(
            Reason.CORRUPT,
            f"the format chunk contradicts itself: {channels} channels, {rate} Hz, "
            f"{bits} bits, {align} bytes a frame",
        )
    return _Format(_CODECS[tag], channels, rate, align, depth)


def _broadcast(file: BinaryIO, chunk: Chunk | None) -> tuple[BroadcastInfo | None, list[str]]:
    if chunk is None:
        return None, []
    data = chunk.read(file, SMALL_CHUNK)
    if len(data) < _BEXT_FIXED:
        return None, ["the broadcast chunk is cut short and was left out"]
    from wavinfo.wave_bext_reader import WavBextReader

    # Strings are cut at their first NUL, so whether they are UTF-8 is asked of the cut ones.
    fields = (data[:256], data[256:288], data[288:320], data[_BEXT_FIXED:])
    utf8 = all(is_utf8(field.split(b"\0", 1)[0]) for field in fields) and data[320:338].isascii()
    bext = WavBextReader(data, "utf-8" if utf8 else "latin-1")
    umid = bext.umid if bext.umid and any(bext.umid) else b""
    info = BroadcastInfo(
        version=bext.version,
        description=bext.description.strip(),
        originator=bext.originator.strip(),
        originator_reference=bext.originator_ref.strip(),
        date=bext.originator_date.strip(),
        time=bext.originator_time.strip(),
        time_reference_samples=bext.time_reference,
        coding_history=bext.coding_history.strip(),
        umid_hex=umid.hex(),
        loudness_lufs=_set(bext.loudness_value),
        loudness_range_lu=_set(bext.loudness_range),
        max_true_peak_dbtp=_set(bext.max_true_peak),
        max_momentary_lufs=_set(bext.max_momentary_loudness),
        max_short_term_lufs=_set(bext.max_shortterm_loudness),
    )
    return info, []


_MOST_TRACKS = 128


def _set(value: float | None) -> float | None:
    return None if value is None or value == _LOUDNESS_UNSET else value


def _ixml(file: BinaryIO, chunk: Chunk | None) -> tuple[IxmlInfo | None, list[str]]:
    if chunk is None:
        return None, []
    data = chunk.read(file, SMALL_CHUNK).strip(b"\0 \r\n\t")
    # A document type can make a parser build or fetch anything; no recorder writes one.
    if b"<!DOCTYPE" in data.replace(b"\0", b""):
        return None, ["the iXML chunk carries a document type and was left out"]
    from wavinfo.wave_ixml_reader import WavIXMLFormat

    try:
        ixml = WavIXMLFormat(data)
        note, circled = (ixml.raw_xml.findtext(f"./{name}") for name in ("NOTE", "CIRCLED"))
        info = IxmlInfo(
            project=_text_or_none(ixml.project),
            scene=_text_or_none(ixml.scene),
            take=_text_or_none(ixml.take),
            tape=_text_or_none(ixml.tape),
            note=_text_or_none(note),
            circled={"TRUE": True, "FALSE": False}.get((circled or "").strip().upper()),
            tracks=_tracks(ixml.raw_xml.findall("./TRACK_LIST/TRACK")[:_MOST_TRACKS]),
        )
    except Exception:
        # Bytes from outside: whatever the XML library makes of them, the sound is still good.
        return None, ["the iXML chunk is not XML and was left out"]
    return info, []


def _tracks(listed: list[Any]) -> tuple[str, ...]:
    """The tracks' names as their channels lie in the file, which need not be the list's order."""
    names = [(track.findtext("NAME") or "").strip() for track in listed]
    places = [(track.findtext("INTERLEAVE_INDEX") or "").strip() for track in listed]
    order = [str(at) for at in range(1, len(listed) + 1)]
    if sorted(places, key=lambda each: (len(each), each)) == order:
        names = [names[places.index(at)] for at in order]
    return tuple(names)


def _text_or_none(text: str | None) -> str | None:
    return (text or "").strip() or None


def _cues(file: BinaryIO, chunks: list[Chunk]) -> tuple[FileCue, ...]:
    """Cue points in order of place, with the labels of the associated-data list."""
    cue = _first(chunks, b"cue ")
    if cue is None:
        return ()
    labels: dict[int, str] = {}
    for chunk in chunks:
        if chunk.ident != b"LIST" or chunk.present > SMALL_CHUNK:
            continue
        data = chunk.read(file, SMALL_CHUNK)
        if data[:4] == b"adtl":
            for ident, value in list_chunks(data[4:]):
                if ident == b"labl" and len(value) >= 4:
                    labels[int.from_bytes(value[:4], "little")] = decode_text(value[4:])
    data = cue.read(file, 4 + 24 * _MOST_CUES)
    count = int.from_bytes(data[:4], "little")
    places = []
    for at in range(4, min(len(data) - 23, 4 + 24 * count), 24):
        ident, *_, offset = struct.unpack_from("<II4sIII", data, at)
        places.append(FileCue(position_frames=offset, label=labels.get(ident, "")))
    return tuple(sorted(places, key=lambda cue: cue.position_frames))
