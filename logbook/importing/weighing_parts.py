"""Which part of a song a file's path and chunks name, and what that is worth.

What each is worth is counted as in `weighing`. A word for an instrument that the part is not
counts against it: a viola is not a tenor guitar, and a bass clarinet is no bass.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from logbook.importing.path_words import Run, Word, cells_of, name_words, runs_of
from logbook.importing.trade_words import EDITED_WORDS, INSTRUMENT_WORDS, KIT_WORDS, is_line_word
from logbook.importing.weighing_songs import CHUNKS, FileWords
from logbook.store.file_rows import PartLine

THOUGH = "though it says"
"""How a reading begins to say what speaks against it."""
ONLY_PART = "the song's only part"
_KINDS = frozenset((
    "acoustic", "electric", "lead", "backing", "harmony", "rhythm", "slide", "twelve", "tenor",
    "baritone", "alto", "soprano",
))  # fmt: skip
"""Words that say which kind of an instrument it is, and stand for it where it is the only one."""
_OTHER_INSTRUMENT = 2.5
"""What it is worth that a name says another instrument."""


@dataclass
class WeighedPart:
    """A part that a file may be of: what that is worth, by what, and the words that say so."""

    part: PartLine
    worth: float
    by: list[str]
    used: set[tuple[int, int]]
    told: bool
    whole: bool = False


def parts_named(
    steps: Sequence[Sequence[Word]],
    said: FileWords,
    parts: Sequence[PartLine],
    taken: set[tuple[int, int]],
) -> list[WeighedPart]:
    """The parts of a song that a file may be of; `taken` are words that say something else."""
    found: list[WeighedPart] = []
    for part in parts:
        best = WeighedPart(part, 0.0, [], set(), False)
        aliases = [each.strip() for each in part.aliases.split(",") if each.strip()]
        for name in (part.name, *aliases):
            for run in runs_of(name, steps):
                cells = cells_of(run)
                if cells & taken:
                    continue
                worth = _part_worth(name, run)
                if worth > best.worth:
                    where = "name" if run.step == 0 else "folder"
                    best = WeighedPart(
                        part, worth, [f"part in its {where}"], cells, True, run.share == 1
                    )
        worth, by, cells = _part_in_chunks((part.name, *aliases), said, taken)
        if worth:
            best.worth += worth
            best.by.append(by)
            best.used |= cells
            best.told = True
        if not best.told:
            worth, by, cells = _part_by_one_word(part, parts, steps, taken)
            best = WeighedPart(part, worth, [by] if worth else [], cells, bool(worth))
        if not best.told and _is_kit(part.name) and KIT_WORDS & {w.plain for w in steps[0]}:
            best = WeighedPart(part, 1.6, ["drum microphones in its name"], set(), True)
        if not best.told and len(parts) == 1:
            best = WeighedPart(part, 0.3, [ONLY_PART], set(), True)
        if best.told:
            done = [word.written for word in steps[0] if word.plain in EDITED_WORDS
                    and (0, word.at) not in taken | best.used]  # fmt: skip
            if done:
                best.by.append(f'{THOUGH} "{" ".join(done)}"')
            others = _other_instruments(part, steps[0], taken | best.used)
            if others:
                best.worth -= _OTHER_INSTRUMENT
                best.by.append(f'{THOUGH} "{" ".join(others)}"')
            found.append(best)
    return _unclear(_longest(found))


def _other_instruments(
    part: PartLine, step: Sequence[Word], taken: set[tuple[int, int]]
) -> list[str]:
    """The words of a file's name that say an instrument, and not the part's."""
    own = {word for name in (part.name, part.aliases) for word in name_words(name)}
    own |= {meant for word in own for meant in INSTRUMENT_WORDS.get(word, ())}
    if _is_kit(part.name):
        own |= {"bass", "drums"}
    return [
        word.written
        for word in step
        if word.plain in INSTRUMENT_WORDS
        and (word.step, word.at) not in taken
        and not is_line_word(word.plain)
        and not own & INSTRUMENT_WORDS[word.plain]
    ]


def _unclear(found: list[WeighedPart]) -> list[WeighedPart]:
    """Parts that the same short form may mean are worth the same."""
    for each in found:
        rivals = [other for other in found if other.used == each.used and each.used]
        if len(rivals) > 1 and not any(other.whole for other in rivals):
            least = min(other.worth for other in rivals)
            for other in rivals:
                other.worth = least
    return found


def _longest(found: list[WeighedPart]) -> list[WeighedPart]:
    """Without parts whose words are part of a longer name: `guitar` in `high guitar`."""
    return [
        each
        for each in found
        if not any(other is not each and each.used and each.used < other.used for other in found)
    ]


def _part_worth(name: str, run: Run) -> float:
    length = sum(map(len, name_words(name)))
    worth = min(2.6, 1.3 + 0.12 * length) * run.share
    return worth if run.step == 0 else worth * 0.85


def _part_in_chunks(
    names: Iterable[str], said: FileWords, taken: set[tuple[int, int]]
) -> tuple[float, str, set[tuple[int, int]]]:
    """What the chunks say of a part, by any of its names."""
    best: tuple[float, str, set[tuple[int, int]]] = (0.0, "", set())
    for name in names:
        for run in runs_of(name, said.steps):
            if 2.0 * run.share > best[0] and not cells_of(run) & taken:
                best = (2.0 * run.share, said.named[run.step - CHUNKS], cells_of(run))
    return best


def _part_by_one_word(
    part: PartLine,
    parts: Iterable[PartLine],
    steps: Sequence[Sequence[Word]],
    taken: set[tuple[int, int]],
) -> tuple[float, str, set[tuple[int, int]]]:
    """A part of two words by the one that no other part of the song has."""
    others = {word for each in parts if each is not part for word in name_words(each.name)}
    own = [w for w in name_words(part.name) if w not in others and len(w) >= 3]
    head = name_words(part.name)[-1:]
    by_step = {step[0].step: step for step in steps if step}
    kinds = [w for w in name_words(part.name)[:-1] if w in INSTRUMENT_WORDS and w not in _KINDS]
    for word in own:
        if kinds and [word] == list(head):
            continue  # nor a clarinet
        if word in INSTRUMENT_WORDS and word not in _KINDS and [word] != list(head):
            continue  # a bass is no bass clarinet
        for run in runs_of(word, steps):
            if run.step > 1 or _of_another_kind(part, by_step[run.step], run):
                continue
            if not cells_of(run) & taken:
                return 1.1 * run.share, "part by one of its words", cells_of(run)
    return 0.0, "", set()


def _of_another_kind(part: PartLine, step: Sequence[Word], run: Run) -> bool:
    """Whether one letter stands before a word that begins none of the part's: A Gtr, E Gtr."""
    before = step[run.start - 1].plain if run.start else ""
    letter = len(before) == 1 and before.isalpha() and not is_line_word(before)
    return letter and not any(word.startswith(before) for word in name_words(part.name))


def _is_kit(name: str) -> bool:
    return bool({"drums", "drum", "kit"} & set(name_words(name)))
