"""The planner of a set: songs, rigs, what changes between them, times, and a better order."""

from __future__ import annotations

from typing import Any, NamedTuple

from logbook.arranging.changeovers import Changeover, Gap, PlayerRig
from logbook.arranging.lengths import length_text
from logbook.arranging.setlist import WAITING, Reordered, SetSheet, SetSong
from logbook.sheets.blocks import Block, Facts, Heading, Items, Paragraph
from logbook.sheets.looks import Sheet, Wanted

_LABELS = 10


class AskedSet(NamedTuple):
    """The set as it stands, and in a better order, where that is asked for."""

    made: SetSheet
    found: Reordered | None = None


def build(subject: AskedSet, wanted: Wanted) -> Sheet:
    """Return a set, ready to be drawn."""
    del wanted
    made, found = subject
    sheet = found.sheet if found else made
    setlist = sheet.setlist
    title = ", ".join(filter(None, (setlist.name, setlist.date, setlist.place)))
    blocks: list[Block] = [Heading(2, title, quiet=True)]
    if setlist.notes:
        blocks.append(Paragraph(setlist.notes))
    for number, song in enumerate(sheet.songs):
        blocks += _song(number + 1, song)
        if number < len(sheet.gaps):
            said = _gap(sheet.gaps[number])
            blocks.append(Facts((("then", said[0]), *(("", each) for each in said[1:]))))
    blocks.append(Facts(_total(sheet), column=_LABELS))
    if sheet.remarks:
        blocks += [Heading(3, "Remarks"), Items(sheet.remarks)]
    if found is not None:
        blocks.append(Paragraph(order_said(found, made)))
    data = set_data(sheet, found)
    return Sheet("set list", setlist.name, data, tuple(blocks), _rows(sheet))


def _rows(sheet: SetSheet) -> tuple[tuple[object, ...], ...]:
    head = ("number", "song", "place", "key", "tempo", "seconds", "rigs", "change after, seconds")
    gaps = [gap.seconds for gap in sheet.gaps]
    return (
        head,
        *(
            (
                at + 1,
                song.entry.song,
                song.entry.place,
                song.key,
                song.tempo,
                "" if song.seconds is None else round(float(song.seconds), 3),
                "; ".join(f"{rig.player}: {rig_text(rig)}" for rig in song.rigs),
                gaps[at] if at < len(gaps) else "",
            )
            for at, song in enumerate(sheet.songs)
        ),
    )


def _song(number: int, song: SetSong) -> list[Block]:
    length = "length not known" if song.seconds is None else length_text(song.seconds)
    if song.vamps:
        length += f" plus the vamp ({', '.join(song.vamps)})"
    place = f"{song.entry.place}, " if song.entry.place else ""
    stays = ", stays with the next" if song.entry.with_next else ""
    said = ", ".join(filter(None, (length, song.key, song.tempo)))
    rows = [(rig.player, rig_text(rig)) for rig in song.rigs]
    if song.entry.notes:
        rows.append(("notes", song.entry.notes))
    heading = Heading(3, f"{number}. {song.title}: {place}{said}{stays}")
    return [heading, *([Facts(tuple(rows))] if rows else [])]


def rig_text(rig: PlayerRig) -> str:
    """What a player holds, in a few words."""
    words = [rig.instrument or rig.part]
    if rig.open_midi:
        words += [rig.tuning, "no capo" if rig.capo == "0" else f"capo {rig.capo}"]
    return ", ".join(words)


def _gap(gap: Gap) -> list[str]:
    if not gap.changes:
        return ["no change"]
    waiting = [each for each in gap.changes if not each.during]
    said = ["no wait"]
    if waiting:
        changes = "; ".join(f"{each.player}: {change_text(each)}" for each in waiting)
        said = [f"{gap.seconds:g} s: {changes}"]
    for each in gap.changes:
        if each.during:
            text = f"{each.player}, who sits out {each.during}, makes {each.instrument} ready then"
            if each.next_player != each.player:
                text += f" for {each.next_player}"
            said.append(f"{text}: {change_text(each)}")
    return said


def change_text(change: Changeover) -> str:
    """A change in words: what, and how long it takes."""
    return f"{change.kind} {change.text.removeprefix('capo ')} ({change.seconds:g} s)"


def _total(sheet: SetSheet) -> tuple[tuple[str, str], ...]:
    changes = sheet.change_count
    vamps = [song.entry.song for song in sheet.songs if song.vamps]
    more = f", plus the vamps of {', '.join(vamps)}" if vamps else ""
    times = sheet.times
    return (
        (
            "Total",
            f"{length_text(sheet.total_s)}: music {length_text(sheet.music_s)}, {changes} "
            f"{'change' if changes == 1 else 'changes'}, waiting {length_text(sheet.changes_s)}"
            f"{more}",
        ),
        (
            "Counted",
            f"{times.string_s:g} s a string retuned, {times.capo_s:g} s a capo moved, "
            f"{times.swap_s:g} s an instrument swapped or handed over; different players change "
            "at the same time; an instrument put down stays as it was until somebody has time for "
            "it",
        ),
    )


def order_said(found: Reordered, before: SetSheet) -> str:
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
    return text


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
