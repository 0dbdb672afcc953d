"""A set list for the stage: titles to be read from the floor, and what each player needs to know.

Under a title stand key, tempo, capo and tuning, then what comes next and what has to be changed for
it. What the set weighs in minutes is the planner's (`set_lists`).
"""

from __future__ import annotations

from logbook.arranging.changeovers import PlayerRig
from logbook.arranging.setlist import SetSheet
from logbook.sheets.blocks import Heading, StageSong, StageSongs
from logbook.sheets.looks import Sheet, Wanted
from logbook.sheets.set_lists import AskedSet, set_data
from logbook.sheets.signs import tempo_in_print


def build(subject: AskedSet, wanted: Wanted) -> Sheet:
    """Return a set for the stage, ready to be drawn."""
    del wanted
    sheet = subject.found.sheet if subject.found else subject.made
    songs = tuple(_song(sheet, at) for at in range(len(sheet.songs)))
    head = ("number", "song", "key", "tempo", "rigs", "next", "change for it")
    rows = tuple(
        (
            at + 1,
            song.title,
            song.key,
            sheet.songs[at].tempo,
            "; ".join(song.rigs),
            song.then,
            "; ".join(song.changes),
        )
        for at, song in enumerate(songs)
    )
    data = set_data(sheet, subject.found)
    blocks = (Heading(1, sheet.setlist.name, "set list"), StageSongs(songs))
    return Sheet("stage", sheet.setlist.name, data, blocks, (head, *rows))


def _song(sheet: SetSheet, at: int) -> StageSong:
    song = sheet.songs[at]
    changes, then = [], ""
    if at + 1 < len(sheet.songs):
        after = sheet.songs[at + 1].entry.song
        then = f"straight into {after}" if song.entry.with_next else f"next: {after}"
        for each in sheet.gaps[at].changes:
            who = f"{each.player}: " if each.player else ""
            ready = " (ready before)" if each.during else ""
            changes.append(f"{who}{each.kind} {each.text.removeprefix('capo ')}{ready}")
    return StageSong(
        str(at + 1),
        song.entry.song,
        song.key,
        tempo_in_print(song.tempo),
        tuple(_rig(rig) for rig in song.rigs if rig.open_midi),
        tuple(changes),
        then,
        song.entry.notes,
    )


def _rig(rig: PlayerRig) -> str:
    capo = "no capo" if rig.capo == "0" else f"capo {rig.capo}"
    return f"{rig.player}: {capo}, {rig.tuning}"
