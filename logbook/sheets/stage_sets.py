"""A set list for the stage: titles to be read from the floor, and what each player needs to know.

Under a title stand key and tempo; where the song is played otherwise than the one before, what is
changed stands ahead of it. What the set weighs in minutes is the planner's (`set_lists`).
"""

from __future__ import annotations

from logbook.arranging.changeovers import PlayerRig
from logbook.arranging.setlist import SetSheet
from logbook.sheets.blocks import Heading, StageSong, StageSongs
from logbook.sheets.looks import Sheet, Wanted
from logbook.sheets.set_lists import AskedSet, set_data


def build(subject: AskedSet, wanted: Wanted) -> Sheet:
    """Return a set for the stage, ready to be drawn."""
    del wanted
    sheet = subject.found.sheet if subject.found else subject.made
    songs = tuple(_song(sheet, at) for at in range(len(sheet.songs)))
    head = ("number", "song", "key", "tempo", "rigs", "change before")
    rows = tuple(
        (at + 1, each.title, each.key, each.tempo, "; ".join(each.rigs), "; ".join(each.changes))
        for at, each in enumerate(songs)
    )
    data = set_data(sheet, subject.found)
    blocks = (Heading(1, sheet.setlist.name, "set list"), StageSongs(songs))
    return Sheet("stage", sheet.setlist.name, data, blocks, (head, *rows))


def _song(sheet: SetSheet, at: int) -> StageSong:
    song = sheet.songs[at]
    changes = []
    if at:
        for each in sheet.gaps[at - 1].changes:
            who = f"{each.player}: " if each.player else ""
            ready = " (made ready meanwhile)" if each.during else ""
            changes.append(f"{who}{each.kind} {each.text.removeprefix('capo ')}{ready}")
    after = sheet.songs[at + 1].title if at + 1 < len(sheet.songs) else ""
    return StageSong(
        str(at + 1),
        song.entry.song,
        song.key,
        song.tempo,
        tuple(_rig(rig) for rig in song.rigs if rig.open_midi),
        tuple(changes),
        f"straight into {after}" if song.entry.with_next and after else "",
        song.entry.notes,
    )


def _rig(rig: PlayerRig) -> str:
    capo = "no capo" if rig.capo == "0" else f"capo {rig.capo}"
    return f"{rig.player}: {capo}, {rig.tuning}"
