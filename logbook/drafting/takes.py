"""The takes of one part, told apart by their sound: finished file, comp, passes and false starts.

A file is the finished one where its name says so, or where its sound is that of two or more of the
others (see `recover_comp`). A take's place in the song is where its pitches agree best with those
of the part's fullest recording. A false start is short and stops while it still sounds.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from logbook.drafting.naming import NamedFile
from logbook.errors import LogbookError
from logbook.listening import Piece, recover_comp
from logbook.listening.decoding import DecodedSound, decode
from logbook.listening.following import HeardBeats, hear_onsets
from logbook.listening.onsets import onset_curve, onsets
from logbook.listening.pitches import agreement, pitch_frames
from logbook.listening.tempo import read_tempo
from logbook.listening.tuning import read_tuning

SHORT, FALSE_START = 0.8, 0.25  # of the fullest recording: less is incomplete, or a false start
BROKEN_OFF_SHARE = 0.45  # a pass as short as this that stops while it sounds was broken off
STILL_SOUNDS_DB = -18.0  # the last tenth of a second against the loudest
COMP_SHARE = 0.6  # of the finished file that must come from the takes
AGREES = 0.45  # how well pitches must agree for a take to be placed by them
MOST_TO_TRY = 8  # files among which a finished one without its name is looked for


@dataclass(frozen=True, kw_only=True)
class HeardFile:
    """One file: its sound and onsets, and what was measured; `problem` where it cannot be heard."""

    named: NamedFile
    sound: DecodedSound | None
    onsets: HeardBeats | None
    bpm: float | None = None
    cents: float | None = None
    problem: str = ""

    @property
    def seconds(self) -> float:
        """Length in seconds, 0 where it could not be decoded."""
        return self.sound.seconds if self.sound else 0.0

    @property
    def lasts(self) -> float:
        """Seconds from the first to the last onset."""
        if self.onsets is None or self.onsets.times.size < 2:
            return 0.0
        return float(self.onsets.times[-1] - self.onsets.times[0])


@dataclass(frozen=True, kw_only=True)
class Pass:
    """One take: where it begins in the song's fullest recording of its part, and what it is.

    starts_s: seconds in that recording at which the take's file begins. agrees: how well its
    pitches agree there, None for the fullest itself. result: a take's result; sure: of that.
    """

    file: HeardFile
    starts_s: float
    agrees: float | None
    result: str
    sure: float


@dataclass(frozen=True, kw_only=True)
class Passes:
    """The files of a part told apart: its takes, the finished file if any, and its pieces."""

    takes: tuple[Pass, ...]
    finished: HeardFile | None
    pieces: tuple[Piece, ...]
    fullest: HeardFile


def hear_file(named: NamedFile) -> HeardFile:
    """Decode and measure one file."""
    try:
        sound = decode(named.path)
    except LogbookError as error:
        return HeardFile(named=named, sound=None, onsets=None, problem=error.problem)
    heard = hear_onsets(sound)
    if heard.times.size < 2:
        return HeardFile(named=named, sound=sound, onsets=heard, problem="hardly anything sounds")
    curve = onset_curve(sound.samples, sound.rate)
    tempo = read_tempo(curve, *onsets(curve))
    tuned = read_tuning(sound.samples, sound.rate)
    clear = tuned is not None and tuned.clear > 0.3
    return HeardFile(
        named=named,
        sound=sound,
        onsets=heard,
        bpm=tempo.bpm if tempo else None,
        cents=tuned.cents if tuned and clear else None,
    )


def tell_apart(files: Sequence[HeardFile]) -> Passes:
    """Tell the files of one part apart. There must be at least one; none may be left out."""
    heard = [file for file in files if not file.problem]
    finished, pieces = _finished(heard)
    takes = [file for file in files if file is not finished]
    whole = [file for file in takes if not file.problem]
    fullest = finished or max(whole or list(files), key=lambda file: file.lasts)
    longest = max((file.lasts for file in whole), default=0.0)
    if finished is not None:
        longest = max(longest, finished.lasts)
    passes = tuple(_pass(file, fullest, longest, takes, pieces) for file in takes)
    return Passes(takes=passes, finished=finished, pieces=pieces, fullest=fullest)


def _finished(files: Sequence[HeardFile]) -> tuple[HeardFile | None, tuple[Piece, ...]]:
    named = [file for file in files if file.named.finished]
    if named:
        takes = [file for file in files if not file.named.finished]
        return named[0], _pieces(named[0], takes)
    if not 3 <= len(files) <= MOST_TO_TRY:
        return None, ()
    longest = max(file.seconds for file in files)
    for file in files:
        if file.named.number is not None or file.seconds < SHORT * longest:
            continue
        pieces = _pieces(file, [other for other in files if other is not file])
        if len({piece.take for piece in pieces} - {None}) >= 2:
            return file, pieces
    return None, ()


def _pieces(bounce: HeardFile, takes: Sequence[HeardFile]) -> tuple[Piece, ...]:
    """The comp of a finished file, its takes counted as given; none where it is not of them."""
    if not takes:
        return ()
    try:
        pieces = tuple(recover_comp(bounce.named.path, [take.named.path for take in takes]))
    except LogbookError:
        return ()
    known = sum(piece.length for piece in pieces if piece.take is not None)
    return pieces if known >= COMP_SHARE * bounce.seconds else ()


def _pass(
    file: HeardFile,
    fullest: HeardFile,
    longest: float,
    takes: Sequence[HeardFile],
    pieces: Sequence[Piece],
) -> Pass:
    if file.problem:
        return Pass(file=file, starts_s=0.0, agrees=None, result="", sure=0.0)
    share = file.lasts / longest if longest else 1.0
    starts, agrees = 0.0, None
    if file is not fullest:
        starts, agrees = _place(file, fullest, share)
        listened = [each for each in takes if not each.problem]
        mine = [piece for piece in pieces if piece.take == listened.index(file)]
        if mine:
            # The comp says it to the sample, of a piece that stands where it was played.
            best = min(mine, key=lambda piece: abs(piece.offset + starts))
            if abs(best.offset + starts) < 0.6 or agrees < AGREES:
                starts, agrees = -best.offset, 1.0
    result, sure = _result(file, share)
    return Pass(file=file, starts_s=starts, agrees=agrees, result=result, sure=sure)


def _place(file: HeardFile, fullest: HeardFile, share: float) -> tuple[float, float]:
    assert file.sound is not None, "files with a problem are not placed"
    assert fullest.sound is not None, "the fullest recording was heard"
    mine = pitch_frames(file.sound.samples, file.sound.rate)
    whole = pitch_frames(fullest.sound.samples, fullest.sound.rate)
    shifts, found = agreement(mine, whole)
    inside = (shifts > -2.0) & (shifts < fullest.seconds - 0.5 * file.seconds)
    if not np.any(inside):
        return 0.0, 0.0
    # Of places that agree alike the earliest: a song comes round again.
    best = float(np.max(found[inside]))
    good = np.flatnonzero(inside & (found > best - 0.02))
    near = int(good[0]) if share < SHORT else int(good[np.argmin(np.abs(shifts[good]))])
    return float(shifts[near]), float(found[near])


def _result(file: HeardFile, share: float) -> tuple[str, float]:
    assert file.sound is not None, "files with a problem have no result"
    tail = file.sound.samples[-round(0.1 * file.sound.rate) :]
    loud = float(np.quantile(np.abs(file.sound.samples), 0.99)) + 1e-9
    end_db = 20.0 * np.log10(float(np.sqrt(np.mean(tail.astype(np.float64) ** 2))) / loud + 1e-9)
    broken = end_db > STILL_SOUNDS_DB
    if share < FALSE_START or (share < BROKEN_OFF_SHARE and broken):
        return "false start", 0.9 if broken and share < FALSE_START else 0.7
    if share < SHORT:
        return "incomplete", 0.8
    return "complete", 0.7 if broken else 0.85
