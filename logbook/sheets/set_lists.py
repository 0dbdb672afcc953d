"""A set list as lines of text and as plain data: songs, rigs, changes, times."""

from __future__ import annotations

from collections.abc import Iterator
from textwrap import wrap
from typing import Any

from logbook.arranging.lengths import length_text
from logbook.arranging.orders import EXACT_UP_TO
from logbook.arranging.setlist import Gap, PlayerRig, Reordered, SetSheet, SetSong


def set_lines(sheet: SetSheet, width: int = 80) -> list[str]:
    """Return the set as lines: each song with its rigs, the changes between, the total."""
    setlist = sheet.setlist
    lines = [", ".join(filter(None, (setlist.name, setlist.date, setlist.place)))]
    if setlist.notes:
        lines += wrap(setlist.notes, width)
    for number, song in enumerate(sheet.songs):
        lines += ["", *_song(number + 1, song, width)]
        if number < len(sheet.gaps):
            lines += _gap(sheet.gaps[number], width)
    return [*lines, "", *_total(sheet, width), *_remarks(sheet, width)]


def _song(number: int, song: SetSong, width: int) -> Iterator[str]:
    length = "length not known" if song.seconds is None else length_text(song.seconds)
    if song.vamps:
        length += f" plus the vamp ({', '.join(song.vamps)})"
    place = f"{song.entry.place}, " if song.entry.place else ""
    stays = ", stays with the next" if song.entry.with_next else ""
    told = ", ".join(filter(None, (length, song.key, song.tempo)))
    yield from _hang(f"{number:>2}. ", f"{song.title}: {place}{told}{stays}", width)
    for rig in song.rigs:
        yield from _hang("      ", f"{rig.player}: {rig_text(rig)}", width)
    if song.entry.notes:
        yield from _hang("      ", song.entry.notes, width)


def rig_text(rig: PlayerRig) -> str:
    """What a player holds, in a few words."""
    words = [rig.instrument or rig.part]
    if rig.open_midi:
        words += [rig.tuning, "no capo" if rig.capo == "0" else f"capo {rig.capo}"]
    return ", ".join(words)


def _gap(gap: Gap, width: int) -> Iterator[str]:
    if not gap.changes:
        yield "    -- no change"
        return
    told = "; ".join(
        f"{change.player}: {change.kind} {_bare(change.text)} ({change.seconds:g} s)"
        for change in gap.changes
    )
    yield from _hang("    -- ", f"{gap.seconds:g} s: {told}", width)


def _bare(text: str) -> str:
    """A capo's text without the word that stands before it anyway."""
    return text.removeprefix("capo ")


def _total(sheet: SetSheet, width: int) -> Iterator[str]:
    changes = sheet.change_count
    vamps = [song.entry.song for song in sheet.songs if song.vamps]
    more = f", plus the vamps of {', '.join(vamps)}" if vamps else ""
    yield from _hang(
        "Total   ",
        f"{length_text(sheet.total_s)}: music {length_text(sheet.music_s)}, {changes} "
        f"{'change' if changes == 1 else 'changes'} {length_text(sheet.changes_s)}{more}",
        width,
    )
    times = sheet.times
    yield from _hang(
        "Counted ",
        f"{times.string_s:g} s a string retuned, {times.capo_s:g} s a capo moved, "
        f"{times.swap_s:g} s an instrument swapped; different players change at the same time, "
        "and an instrument put down is made ready meanwhile",
        width,
    )


def _remarks(sheet: SetSheet, width: int) -> Iterator[str]:
    if sheet.remarks:
        yield ""
        yield "Remarks"
        for remark in sheet.remarks:
            yield from _hang("  ", remark, width)


def order_lines(found: Reordered, before: SetSheet, width: int = 80) -> list[str]:
    """What the order with the fewest changes saves, and whether it is exact."""
    order = found.order
    own = before.change_count
    if list(order.places) == list(range(len(before.songs))):
        text = f"The order as it stands needs the fewest changes: {own}"
    else:
        text = f"This order needs {order.changes} changes, the one as it stands {own}"
    if order.exact:
        text += "; it is exact, no other order needs fewer."
    else:
        text += (
            f"; with more than {EXACT_UP_TO} songs to place this is a good order, "
            "not proven the best."
        )
    return wrap(text, width)


def set_data(sheet: SetSheet, found: Reordered | None = None) -> dict[str, Any]:
    """The set as plain data; times in seconds."""
    data: dict[str, Any] = {
        "set": sheet.setlist.name,
        "date": sheet.setlist.date,
        "place": sheet.setlist.place,
        "songs": [
            {
                "song": song.entry.song,
                "version": song.entry.version,
                "arrangement": song.entry.arrangement,
                "place": song.entry.place,
                "with_next": song.entry.with_next,
                "seconds": None if song.seconds is None else round(float(song.seconds), 6),
                "vamps": list(song.vamps),
                "key": song.key,
                "tempo": song.tempo,
                "rigs": [rig._asdict() for rig in song.rigs],
            }
            for song in sheet.songs
        ],
        "gaps": [
            {"seconds": gap.seconds, "changes": [change._asdict() for change in gap.changes]}
            for gap in sheet.gaps
        ],
        "music_seconds": round(float(sheet.music_s), 6),
        "change_seconds": sheet.changes_s,
        "total_seconds": round(sheet.total_s, 6),
        "changes": sheet.change_count,
        "times": sheet.times._asdict(),
        "remarks": list(sheet.remarks),
    }
    if found is not None:
        data["order_is_exact"] = found.order.exact
    return data


def _hang(head: str, text: str, width: int) -> list[str]:
    """Text behind a head, wrapped under itself."""
    lines = wrap(text, max(width - len(head), 20)) or [""]
    return [head + lines[0], *(" " * len(head) + line for line in lines[1:])]
