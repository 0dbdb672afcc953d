"""Chords in words, for those who hear a sheet instead of seeing it, and beside a picture."""

from __future__ import annotations

from logbook.sheets.chords import ChordCard
from logbook.strings.capo import write_capos
from logbook.strings.voicing import StringView

FINGERS = {"1": "index", "2": "middle", "3": "ring", "4": "little finger", "T": "thumb"}


def diagram_said(card: ChordCard) -> str:
    """Say a diagram string by string, low to high, frets from the nut."""
    voicing = card.drawn
    if voicing is None:
        return f"{card.concert}: {card.as_written}"
    names = card.concert
    if voicing.capos:
        names += f", shape {card.shape}" if card.shape else ""
        names += f", capo {write_capos(voicing.capos)}"
    strings = ", ".join(_string(view) for view in voicing.strings)
    return f"Diagram of {names}. Frets from the nut: {strings}."


def _string(view: StringView) -> str:
    said = f"string {view.number} "
    if view.state == "not played":
        return f"{said}not played"
    rings = " (may ring)" if view.state == "may ring" else ""
    if not view.from_nut:
        return f"{said}open{rings}"
    fret = f"harmonic at {view.from_nut}" if view.state == "harmonic" else f"fret {view.from_nut}"
    finger = f" finger {view.finger}" if view.finger else ""
    return f"{said}{fret}{finger}{rings}"


def under_name(card: ChordCard) -> tuple[str, ...]:
    """What stands under a chord's name: its shape name, and its label where that is another."""
    said = []
    if card.drawn is not None and card.drawn.capos and card.shape:
        said.append(f"shape {card.shape}")
    if card.label not in (card.concert, card.shape):
        said.append(f"“{card.label}”")
    return tuple(said)
