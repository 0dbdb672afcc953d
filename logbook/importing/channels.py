"""Which parts the channels of one file are, by the names that the recorder gave its tracks.

A recorder with many inputs writes one file a pass, and says in its iXML chunk what each channel
is: KICK, SNARE, GTR L, GTR R, VOX. A track is of the part that it names; one that only says a
microphone (ROOM, DI) is of the part before it. What could be two parts is of neither.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from logbook.audio.facts import AudioInfo
from logbook.importing.path_words import Word, text_words
from logbook.importing.trade_words import NOISE_WORDS, is_line_word
from logbook.importing.weighing_parts import ONLY_PART, THOUGH, WeighedPart, parts_named
from logbook.importing.weighing_songs import FileWords
from logbook.store.file_rows import PartLine

NOT_PLAYED = frozenset(("talkback", "tb", "slate", "click", "timecode", "ltc", "sync"))
"""Words of tracks that nobody played (common practice, no source)."""
_TRACKS_SAY = 2.0
"""What it is worth that a recorder's own tracks say a part."""
_NOTHING_SAID = FileWords((), ())


class Spread(NamedTuple):
    """The parts that a file's channels are, in their order, and the channels nobody can place.

    Each part stands with its channels as a microphone is written: "3 GTR L, 4 GTR R".
    """

    parts: tuple[tuple[PartLine, str], ...]
    untold: tuple[str, ...]


def named_tracks(info: AudioInfo) -> tuple[str, ...]:
    """The names of a file's tracks, one for each channel; none where they are not all told."""
    tracks = info.ixml.tracks if info.ixml else ()
    return tracks if len(tracks) == info.channels > 1 and any(tracks) else ()


def spread(tracks: Sequence[str], parts: Sequence[PartLine]) -> Spread:
    """Which of a version's parts these tracks are, first channel first."""
    held: dict[int, list[str]] = {}
    named = {part.id: part for part in parts}
    untold = []
    before: int | None = None
    for channel, track in enumerate(tracks, 1):
        said = f"{channel} {track}".strip().replace(" + ", "+")
        (step,) = text_words([track], 0)
        if any(word.plain in NOT_PLAYED for word in step):
            before = None
            continue
        if any(word.plain == "guide" for word in step):
            untold.append(said)  # sung or played for the others, and no take of its part
            before = None
            continue
        best = _part_of(step, parts)
        if best is None and _only_a_line(step):
            best = before
        before = best
        if best is None:
            untold.append(said)
        else:
            held.setdefault(best, []).append(said)
    return Spread(
        tuple((named[each], ", ".join(said)) for each, said in held.items()), tuple(untold)
    )


def _part_of(step: Sequence[Word], parts: Sequence[PartLine]) -> int | None:
    """The one part that a track names best."""
    if not step:
        return None
    found = parts_named((step,), _NOTHING_SAID, parts, set())
    found = [each for each in found if each.worth > 0 and ONLY_PART not in each.by]
    found.sort(key=lambda each: -each.worth)
    if not found or (len(found) > 1 and found[0].worth - found[1].worth < 0.2):
        return None
    return found[0].part.id


def _only_a_line(step: Sequence[Word]) -> bool:
    return bool(step) and all(
        is_line_word(word.plain) or word.plain.isdecimal() or word.plain in NOISE_WORDS
        for word in step
    )


class Channels(NamedTuple):
    """What of a file is a part's: its own microphone, the parts beside it, and what to remark."""

    own: str
    beside: tuple[tuple[int, str], ...]
    remarks: tuple[str, ...]


def by_channels(
    tracks: Sequence[str], named: list[WeighedPart], parts: Sequence[PartLine]
) -> tuple[list[WeighedPart], dict[int, Channels]]:
    """The parts that a file may be of, `named` by its path, held against what its channels are.

    In each version the parts that are channels of the file count together, as the one that the
    path names best or else the first channel's: only that one is left, the others stand beside it.
    """
    if not tracks:
        return named, {}
    out = list(named)
    channels: dict[int, Channels] = {}
    for version_id in dict.fromkeys(part.version_id for part in parts):
        found = spread(tracks, [part for part in parts if part.version_id == version_id])
        if not found.parts:
            continue
        held = {part.id for part, _ in found.parts}
        told = [each for each in named if each.part.id in held and ONLY_PART not in each.by]
        lead = max(told, key=lambda each: each.worth, default=None)
        if lead is None:
            lead = WeighedPart(found.parts[0][0], 0.0, [], set(), True)
        lead.worth += _TRACKS_SAY
        lead.by = [*(word for word in lead.by if not word.startswith(THOUGH)), "iXML tracks"]
        out = [each for each in out if each.part.id not in held]
        out.append(lead)
        remarks = (f"of no part for certain: {', '.join(found.untold)}",) if found.untold else ()
        channels[lead.part.id] = Channels(
            own=next(said for part, said in found.parts if part.id == lead.part.id),
            beside=tuple((part.id, said) for part, said in found.parts if part.id != lead.part.id),
            remarks=remarks,
        )
    return out, channels
