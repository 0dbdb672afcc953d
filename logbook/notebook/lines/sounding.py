"""What a fingering sounds like, said in a few words for the answer to a line."""

from __future__ import annotations

from dataclasses import dataclass

from logbook.errors import LogbookError
from logbook.notebook.lines.page import Page
from logbook.notebook.lines.where import Where
from logbook.records import Part, Voicing
from logbook.strings.capo import read_capos
from logbook.strings.voicing import SoundingVoicing as Described
from logbook.strings.voicing import describe


@dataclass(frozen=True, kw_only=True)
class LineSound:
    """A fingering worked out: what sounds, and what its name says against it ("" for nothing)."""

    described: Described
    text: str
    against: str = ""


def sound_of(voicing: Voicing, part: Part, where: Where) -> LineSound | None:
    """What a voicing sounds like on a part, None where its strings are not known.

    Raises LogbookError for frets that cannot be played as they are written.
    """
    strung = where.strung_of(part)
    if strung is None or not voicing.frets:
        return None
    version = where.version_record
    instrument = where.instrument_called(part.instrument)
    named = voicing.name or voicing.label
    described = describe(
        voicing.frets,
        strung,
        read_capos(part.capo),
        counted=voicing.counted or part.counted,
        key=(version.key or None) if version else None,
        name=named if _reads(named) else "",
        fingers=voicing.fingers,
        scale_mm=instrument.scale_mm if instrument else None,
        last_fret=instrument.frets if instrument else None,
    )
    text = f"{' '.join(_letters(described))}: {described.chord}"
    if described.capos and described.shape_name:
        text += f" (shape {described.shape_name})"
    verdict = described.verdict
    against = verdict.sentence if verdict is not None and not verdict.agrees else ""
    return LineSound(described=described, text=text, against=against)


def _letters(described: Described) -> list[str]:
    return [note.rstrip("0123456789-") for note in described.notes]


def _reads(name: str) -> bool:
    from logbook.notebook.lines.words import is_chord

    return is_chord(name)


def names_now(page: Page) -> None:
    """Warn of chords whose names no longer fit what sounds, after strings or capo changed."""
    part = page.part()
    wrong = []
    for voicing in part.voicings:
        try:
            sound = sound_of(voicing, part, page.where)
        except LogbookError as error:
            page.warnings.append(f"{voicing.label}: {error.problem}")
            continue
        if sound is not None and sound.against:
            wrong.append(f"{voicing.label} sounds {sound.described.concert[0].symbol}")
    if wrong:
        capo = f"with capo {part.capo} " if part.capo else ""
        page.warnings.append(capo + ", ".join(wrong))
