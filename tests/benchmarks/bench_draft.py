"""The sample's audio drafted with its session file hidden, and compared with the truth.

    python tests/benchmarks/bench_draft.py

Printed: for every part of the sample how many bars of its chart have the right root and the right
chord (scored as mir_eval compares chords: root, and majmin, over bars), exact notes, takes with the
right result and bars, comp lines, tempo and key of every song. Nothing is told to the program, so
the two parts in other tunings (DADGAD and high-strung) and the partial capo are heard as what they
are not. Exit 1 where a comp line is wrong, or fewer than 70 % of all bars have the right root.
"""

from __future__ import annotations

import shutil
import sys
import tempfile
import time
from pathlib import Path

import mir_eval.chord

sys.path.insert(0, str(Path(__file__).parents[2]))

from logbook.drafting.draft import Draft, draft_folder
from logbook.drafting.songs import SaidBefore
from logbook.listening.playing import strings_of
from logbook.notebook.read import read_log
from logbook.records import Log
from logbook.records.charted import ChartSpan, chart_spans
from logbook.records.part_view import PartView
from logbook.theory.names import name_chord
from logbook.theory.symbols import read_symbol

SAMPLE = Path(__file__).parents[2] / "sample_session"
LEAST_ROOTS = 0.7


def main() -> int:
    with tempfile.TemporaryDirectory() as folder:
        hidden = Path(folder) / "boathouse"
        shutil.copytree(SAMPLE, hidden)
        for name in ("session.toml", "make_audio.py"):
            (hidden / name).unlink()
        start = time.perf_counter()
        drafted = draft_folder(hidden, SaidBefore())
        seconds = time.perf_counter() - start
    truth = read_log((SAMPLE / "session.toml").read_text(encoding="utf-8"), folder=str(SAMPLE))
    return _compare(truth, drafted, seconds)


def _compare(truth: Log, drafted: Draft, seconds: float) -> int:
    print(f"drafted in {seconds:.0f} s")
    songs = {song.title: song for song in drafted.log.songs}
    total = roots = 0
    missed = []
    for song in truth.songs:
        found = songs.get(song.title)
        if found is None:
            print(f"{song.title}: not drafted")
            continue
        true, mine = song.versions[0], found.versions[0]
        tempos = [f"{change.bpm:g}" for change in mine.tempos]
        wanted = [f"{change.bpm:g}" for change in true.tempos]
        print(f"{song.title}: key {mine.key} ({true.key}), tempo {tempos} ({wanted})")
        for part in true.parts:
            other = next((each for each in mine.parts if each.name == part.name), None)
            if other is None:
                continue
            takes = {take.number: (take.result, take.bars) for take in other.takes}
            right = sum(
                takes.get(t.number, ("", ""))[1] == t.bars for t in part.takes if t.number in takes
            )
            line = f"  {part.name:12} takes placed {right}/{len(takes)}"
            if part.comps and part.comps[0].pieces:
                pieces = [(p.bars, p.take, p.source or p.bars) for p in part.comps[0].pieces]
                told = [(p.bars, p.take, p.source) for c in other.comps for p in c.pieces]
                same = sum(piece in told for piece in pieces)
                line += f", comp lines {same}/{len(pieces)}"
                if same < len(pieces):
                    missed.append(f"{song.title}, {part.name}: comp {told}")
            if part.chart:
                bars = _bars(
                    PartView(truth, song, true, part), PartView(drafted.log, found, mine, other)
                )
                count, root, chord, notes = bars
                total, roots = total + count, roots + root
                line += f", of {count} chords root {root}, majmin {chord}, exact notes {notes}"
            print(line)
    print(f"roots right in all: {roots}/{total} = {roots / max(1, total):.0%}")
    if roots < LEAST_ROOTS * total:
        missed.append(f"roots: {roots}/{total}")
    for each in missed:
        print(f"missed: {each}")
    return 1 if missed else 0


def _bars(true: PartView, mine: PartView) -> tuple[int, int, int, int]:
    """Chords of the true chart, and how many have the right root, chord and notes in the draft."""
    heard = list(chart_spans(mine))
    count = root = chord = same = 0
    for span in chart_spans(true):
        if span.frets is None:
            continue
        count += 1
        wanted = set(strings_of(true).notes(span.frets))
        found = _at(heard, span)
        if found is None or found.frets is None:
            continue
        notes = set(strings_of(mine).notes(found.frets))
        same += notes == wanted
        a, b = _label(wanted), _label(notes)
        root += bool(mir_eval.chord.root([a], [b])[0] == 1.0)
        chord += bool(mir_eval.chord.majmin([a], [b])[0] == 1.0)
    return count, root, chord, same


def _at(heard: list[ChartSpan], span: ChartSpan) -> ChartSpan | None:
    inside = [each for each in heard if (each.bar, each.beat) <= (span.bar, span.beat)]
    return inside[-1] if inside else None


def _label(notes: set[int]) -> str:
    """Notes as the library writes chords: root, and major or minor by their third."""
    name = name_chord(sorted(notes))[0]
    if not name.named:
        return "N"
    symbol = read_symbol(name.symbol)
    kind = "min" if 3 in symbol.intervals and 4 not in symbol.intervals else "maj"
    return f"{symbol.root}:{kind}"


if __name__ == "__main__":
    sys.exit(main())
