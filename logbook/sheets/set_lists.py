"""A set list as lines of text and as plain data: songs, rigs, changes, times."""

from __future__ import annotations

from collections.abc import Iterator
from textwrap import wrap
from typing import Any

from logbook.arranging.changeovers import Change, Gap, PlayerRig
from logbook.arranging.lengths import length_text
from logbook.arranging.setlist import WAITING, Reordered, SetSheet, SetSong


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
    waiting = [each for each in gap.changes if not each.during]
    if not gap.changes:
        yield "    -- no change"
        return
    if waiting:
        told = "; ".join(f"{each.player}: {change_text(each)}" for each in waiting)
        yield from _hang("    -- ", f"{gap.seconds:g} s: {told}", width)
    else:
        yield "    -- no wait"
    for each in gap.changes:
        if each.during:
            told = f"{each.player}, who sits out {each.during}, makes {each.instrument} ready then"
            if each.next_player != each.player:
                told += f" for {each.next_player}"
            yield from _hang("       ", f"{told}: {change_text(each)}", width)


def change_text(change: Change) -> str:
    """A change in words: what, and how long it takes."""
    return f"{change.kind} {change.text.removeprefix('capo ')} ({change.seconds:g} s)"


def _total(sheet: SetSheet, width: int) -> Iterator[str]:
    changes = sheet.change_count
    vamps = [song.entry.song for song in sheet.songs if song.vamps]
    more = f", plus the vamps of {', '.join(vamps)}" if vamps else ""
    yield from _hang(
        "Total   ",
        f"{length_text(sheet.total_s)}: music {length_text(sheet.music_s)}, {changes} "
        f"{'change' if changes == 1 else 'changes'}, waiting {length_text(sheet.changes_s)}{more}",
        width,
    )
    times = sheet.times
    yield from _hang(
        "Counted ",
        f"{times.string_s:g} s a string retuned, {times.capo_s:g} s a capo moved, "
        f"{times.swap_s:g} s an instrument swapped or handed over; different players change at the "
        "same time; an instrument put down stays as it was until somebody has time for it",
        width,
    )


def _remarks(sheet: SetSheet, width: int) -> Iterator[str]:
    if sheet.remarks:
        yield ""
        yield "Remarks"
        for remark in sheet.remarks:
            yield from _hang("  ", remark, width)


def order_lines(found: Reordered, before: SetSheet, width: int = 80) -> list[str]:
    """What the better order saves, in both figures, and whether it is exact."""
    now = found.sheet
    if list(found.order.places) == list(range(len(before.songs))):
        text = f"The order as it stands is the best: {_figures(now)}"
    else:
        text = f"This order: {_figures(now)}; as the list stands: {_figures(before)}"
    by_waiting = found.wish == WAITING
    if found.order.exact:
        no_other = "makes the audience wait less" if by_waiting else "needs fewer changes"
        text += f". It is exact: no other order {no_other}."
    else:
        text += (
            ". With so many songs to place this is a good order"
            f"{'' if by_waiting else ' for few changes'}, not proven the best."
        )
    return wrap(text, width)


def _figures(sheet: SetSheet) -> str:
    changes = sheet.change_count
    return (
        f"{length_text(sheet.changes_s)} of waiting, {changes} "
        f"{'change' if changes == 1 else 'changes'}"
    )


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
        data |= {"order_for": found.wish, "order_is_exact": found.order.exact}
    return data


def _hang(head: str, text: str, width: int) -> list[str]:
    """Text behind a head, wrapped under itself."""
    lines = wrap(text, max(width - len(head), 20)) or [""]
    return [head + lines[0], *(" " * len(head) + line for line in lines[1:])]
