"""Fretted instruments: where the frets lie, and the usual measures of each kind.

The distance from the nut to fret n on scale length L is L(1 - 2^(-n/12)), which follows from
equal temperament: a string stopped there is 2^(-n/12) as long. Scale lengths, fret counts and
the fret at the body are figures in common practice (no source); a logged instrument says its
own.
"""

from typing import NamedTuple

from logbook.errors import LogbookError


class InstrumentError(LogbookError):
    """A kind of instrument that is not known, or a measure that cannot be."""


class InstrumentKind(NamedTuple):
    """The usual measures of a kind of instrument.

    `scale_mm` is the nut-to-saddle length, `frets` how many there are, `clear_frets` the last
    fret a capo can be put at before the body is in its way.
    """

    name: str
    scale_mm: float
    frets: int
    clear_frets: int
    tuning: str


KINDS: dict[str, InstrumentKind] = {
    kind.name: kind
    for kind in (
        InstrumentKind("guitar", 648.0, 22, 14, "standard"),
        InstrumentKind("acoustic guitar", 645.0, 20, 13, "standard"),
        InstrumentKind("classical guitar", 650.0, 19, 11, "standard"),
        InstrumentKind("electric guitar", 648.0, 22, 17, "standard"),
        InstrumentKind("twelve-string", 645.0, 20, 13, "twelve-string"),
        InstrumentKind("seven-string", 648.0, 24, 17, "seven-string"),
        InstrumentKind("eight-string", 686.0, 24, 17, "eight-string"),
        InstrumentKind("baritone", 686.0, 22, 14, "baritone B"),
        InstrumentKind("bass", 864.0, 20, 15, "bass"),
        InstrumentKind("short-scale bass", 762.0, 20, 15, "bass"),
        InstrumentKind("mandolin", 352.0, 20, 12, "mandolin"),
        InstrumentKind("mandola", 420.0, 20, 12, "mandola"),
        InstrumentKind("octave mandolin", 533.0, 20, 12, "octave mandolin"),
        InstrumentKind("bouzouki", 650.0, 20, 13, "bouzouki GDAD"),
        InstrumentKind("ukulele", 380.0, 15, 12, "ukulele"),
        InstrumentKind("baritone ukulele", 508.0, 18, 12, "baritone ukulele"),
        InstrumentKind("tenor guitar", 584.0, 19, 12, "tenor guitar"),
        InstrumentKind("tenor banjo", 580.0, 19, 14, "tenor banjo"),
        InstrumentKind("banjo", 667.0, 22, 16, "banjo"),
        InstrumentKind("charango", 370.0, 18, 10, "charango"),
    )
}


def find_kind(name: str) -> InstrumentKind:
    """Return the kind of instrument called `name`; raises InstrumentError where there is none."""
    kind = KINDS.get(name.strip().lower())
    if kind is None:
        raise InstrumentError(
            f"no kind of instrument is called '{name}'", f"use {', '.join(KINDS)}"
        )
    return kind


def fret_distance_mm(scale_mm: float, fret: float) -> float:
    """Return the distance in mm from the nut to a fret: L(1 - 2^(-n/12)).

    Raises InstrumentError for a scale length that is not above nought or a fret below it.
    """
    if scale_mm <= 0:
        raise InstrumentError(
            f"a scale length of {scale_mm:g} mm cannot be", "give it in mm, such as 648"
        )
    if fret < 0:
        raise InstrumentError(f"there is no fret {fret:g}", "frets count from 0, the nut")
    return float(scale_mm * (1.0 - 2.0 ** (-fret / 12.0)))


def fret_gap_mm(scale_mm: float, fret_a: float, fret_b: float) -> float:
    """Return the distance in mm along the neck between two frets."""
    return abs(fret_distance_mm(scale_mm, fret_b) - fret_distance_mm(scale_mm, fret_a))


def distance_table_mm(scale_mm: float, frets: int) -> tuple[float, ...]:
    """Return the distance in mm from the nut to each fret, 0 to `frets`."""
    return tuple(fret_distance_mm(scale_mm, fret) for fret in range(frets + 1))
