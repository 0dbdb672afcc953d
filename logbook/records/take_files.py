"""The takes' files of a part where they lie in the music, and comps laid on them."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from logbook.editing.clips import Clip, TakeAudio, lay_clips
from logbook.editing.placing import file_start
from logbook.editing.takes import TakeId
from logbook.errors import LogbookError
from logbook.records.context import pieces_of
from logbook.records.elsewhere import drawn_on, elsewhere
from logbook.records.files import AudioFile
from logbook.records.part_view import PartView
from logbook.records.parts import Comp

_TOGETHER_S = Fraction(1, 1000)
_COUNT_IN_S = 10  # two bars of a slow song


def take_audio(view: PartView) -> list[TakeAudio]:
    """Return every file of the part's takes, with where it starts in the music.

    A file begins where its take's bars do, or where its clock says if that is a count-in ahead
    of them. Files without rate or length are left out, and so is a copy of a file that hangs on
    the same take already. Raises LogbookError where takes or tempos cannot be read.
    """
    bars = view.bars
    found = []
    for take, record in zip(view.takes, view.recorded.takes, strict=True):
        starts_at = bars.seconds_at(take.bars.start) if take.bars else Fraction(0)
        placed = (_audio(view, take.id, file, starts_at) for file in _once(record.files))
        found += [each for each in placed if each is not None]
    return found


def comp_audio(view: PartView, comp: Comp) -> list[TakeAudio]:
    """Return the files of the part's takes, and those elsewhere that a comp draws on.

    Raises LogbookError as `take_audio` does.
    """
    found = take_audio(view)
    for drawn in drawn_on(view, comp):
        if drawn.version is None:
            continue
        place = replace(view, version=drawn.version, part=drawn.part or view.part)
        if drawn.id.file:
            files = drawn.files if len(drawn.files) == 1 else ()
            spans = [(drawn.id, file, Fraction(0)) for file in files]
            found += [audio for each in spans if (audio := _audio(place, *each)) is not None]
        elif drawn.part is not None:
            found += [
                replace(
                    audio,
                    take=audio.take._replace(
                        session=drawn.session_of(audio.take.session),
                        version=drawn.id.version,
                        part=drawn.id.part,
                    ),
                )
                for audio in take_audio(place)
                if audio.take.number == drawn.id.number
            ]
    return found


def _audio(view: PartView, take: TakeId, file: AudioFile, starts_at: Fraction) -> TakeAudio | None:
    """One file where it lies in the music; None without rate or length."""
    if not file.rate_hz or not file.frames:
        return None
    return TakeAudio(
        take=take,
        path=f"{file.folder}/{file.path}" if file.folder else file.path,
        rate_hz=file.rate_hz,
        frames=file.frames,
        starts_at=starts_in_music(view, file, starts_at),
        microphone=file.microphone,
    )


def _once(files: tuple[AudioFile, ...]) -> list[AudioFile]:
    """The files with copies of the same sound left out."""
    kept: dict[tuple[str, ...], AudioFile] = {}
    for file in files:
        key = (file.digest,) if file.digest else (file.folder, file.path)
        kept.setdefault(key, file)
    return list(kept.values())


def starts_in_music(view: PartView, file: AudioFile, take_s: Fraction) -> Fraction:
    """Return where a file starts, in seconds from the music's start.

    By its clock, where that runs with `take_s`, which is where the take's bars begin; else there.
    """
    if file.time_reference is None or not file.rate_hz or not view.version.bar_one_at:
        return take_s
    try:
        clock_s = file_start(
            time_reference_samples=file.time_reference,
            file_rate_hz=file.rate_hz,
            bar_one_at=view.version.bar_one_at,
            tempo_map=view.bars,
        )
    except LogbookError:
        return take_s
    return clock_s if -_TOGETHER_S <= take_s - clock_s <= _COUNT_IN_S else take_s


def clips_found(view: PartView, comp: Comp) -> tuple[tuple[Clip, ...], tuple[str, ...]]:
    """Return the clips of those pieces whose files hold them, and why the others have none."""
    audio = comp_audio(view, comp)
    maps = elsewhere(view, comp).maps
    clips: list[Clip] = []
    without: list[str] = []
    for piece in sorted(pieces_of(comp), key=lambda each: each.bars):
        try:
            clips += lay_clips([piece], audio, view.takes, view.bars, maps)
        except LogbookError as error:
            without.append(f"{piece.bars}: {error.problem}")
    return tuple(clips), tuple(without)
