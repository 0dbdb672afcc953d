"""Words that the program no longer uses, looked for in all that it can print and in its pages."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]

NO_LONGER = {
    # what we do not say: what we say
    r"\bh[ua]ng(s|ing)? on (a |the |nothing|takes|parts)": "attached to",
    r"\b[Hh]ang (a folder|as|every|it|the right)\b": "attach",
    r"\bnot assigned\b|\bunassigned and\b": "not attached",
    r"\ba trial\b": "dry run: nothing written",
    r"\bis there already\b": "already exists",
    r"\bthere is a take \{?\S+ already\b": "already exists",
    r"\bmend(s|ed|ing)? (it|the|these|that)\b|\bmend: ": "fix",
    r"\bwhy: $": "reason",
    r"\banew\b": "again, or re-",
    r"\bstands? again\b": "repeat",
    r"\bround and round\b|\bvamp until\b": "vamp till cue",
    r"\bheed the\b": "check string gauge",
    r"\bparted by commas\b|\bwith blanks\b|\bwithout blanks\b": "separated, spaces",
    r"\bnothing contradicts\b|\bcontradicts what\b": "find contradictions",
    r"\ball there is to say\b": "analyse one voicing",
    r"\bcontradicts the notes\b": "does not match the notes",
    r"\bnot in the log any more\b": "no longer in the log",
    r"\bhas (it|all of it) (back|again)\b": "brings it back",
    r"(?<!there )\bis no (folder|key|capo|string|chord|stroke|finger|pitch|double|tempo|list)\b": (
        "is not a"
    ),
    r"\b[Dd]iffers from the record\b(?!ing)": "changes from the recording",
    r"\bagainst the record\b|\b(as )?on the record\b": "on the recording, full tempo",
    r"\bheard too at\b": "also heard at",
    r"\bnowhere yet\b": "no current song yet",
    r"\band so do the shapes\b|\bno other count\b": "said once",
    r"\bmake one whole\b|\bmake a whole\b": "total 100 %",
    r"\bare proposed\b": "suggested fingering",
    r"\bonly played (slower|faster)\b": "varispeed",
    r"\bthe nouns of the log\b": "entries of the log",
    r"\bsays? the form\b": "sets the format",
    r"\bfiles? (hang|assign|unassign)\b": "attach, attach-all, detach",
    r"\b(take|version|comp called) \{\} already(?! exists)": "already exists",
    r"\bHow it stood\b|\bhow things stood\b|\bpreamps stood\b": "settings, were set",
    r"\b[Nn]ot there any more\b": "no longer there",
    r"\b[Aa]nother (file|sound) than\b": "a different one from",
    r"\bheld? (them |it |the \w+ )?against (the chart|what)\b": "compare with",
    r"\bsound otherwise\b": "sound different from",
    r"\bmay as well be\b": "could equally be",
    r"\bcopies lie\b|\belse they lie\b": "are",
    r"\bheard elsewhere too\b": "also heard elsewhere",
    r"\bbrings nothing new\b": "adds nothing new",
    r"\bof one stretch one\b": "only one take of a stretch",
    r"\bthe editor gave up\b": "ended with an error",
    r"\b[Ww]hom the sheet\b": "who the sheet is for",
    r"\bnothing else than\b": "only",
    r"\bat the least, of\b": "at least 0.8 of 1",
    r"\b(says?|gives?) neither\b|\bneither bars nor\b": "is neither",
    r"\bis a (session|version\b.*), no (session|version)\b": "not a",
    r"\bnot say (which take is how|what is set how|who worked from|of which part|whose share)": (
        "say it in two clauses"
    ),
    r"\b(never moves|nobody counts)\b": "is too slow, too fast",
    r"\bgive the command once more\b": "run the command again",
    r"\bheard otherwise\b|\bheld another file\b": "differently from, compared with",
    r"\bis another \w+ than\b": "is not the",
    r"\bnothing stands at\b|\bit stands instead of\b|\btwo stand at\b": "covers, replaces, are at",
    r"\bfills? no whole\b|\bnames no voicing\b": "does not fill, is not a",
    r"\bno kind of line\b|\blines are such as\b|\bthe top may say\b": "no notebook line, look like",
    r"\bis not a whole path\b|\b[Pp]aths count from\b": "full path, relative to",
    r"\b[Aa]nother comp than\b|\bassign it to\b": "a comp other than, attach it to",
    r"\bhave a keeper already\b": "already have a keeper",
    r"\bafter a stroke, as\b": "slash",
    r"\b(something|preamp) stood\b": "was set up, was set",
    r"\bto Coda\b|\bal (Coda|Fine)\b": "to coda, al coda, as it is typed",
}


def printed(path: Path) -> Iterator[tuple[int, str]]:
    """Every string of a module that can be printed: literals, not what explains the code."""
    todo: list[ast.AST] = [ast.parse(path.read_text(encoding="utf-8"))]
    while todo:
        node = todo.pop()
        match node:
            case ast.Constant(value=str(text)):
                yield node.lineno, text
            case ast.JoinedStr(values=values):
                pieces = [e.value if isinstance(e, ast.Constant) else "{}" for e in values]
                yield node.lineno, "".join(str(each) for each in pieces)
            case ast.Expr(value=ast.Constant()):
                continue
        # By hand: ast.walk takes twice as long over half a million nodes.
        for name in node._fields:
            below = getattr(node, name, None)
            if isinstance(below, list):
                todo += [each for each in below if isinstance(each, ast.AST)]
            elif isinstance(below, ast.AST):
                todo.append(below)


def everything() -> list[tuple[str, str]]:
    """All sentences with where they stand."""
    said = []
    for path in sorted((ROOT / "logbook").rglob("*.py")):
        place = path.relative_to(ROOT)
        said += [(f"{place}:{line}", " ".join(text.split(" "))) for line, text in printed(path)]
    pages = [ROOT / "README.md", *(ROOT / "docs").glob("*.md")]
    pages += (ROOT / "logbook").rglob("*.html")
    for path in pages:
        for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1):
            said.append((f"{path.relative_to(ROOT)}:{number}", line))
    return said


@pytest.fixture(scope="module")
def sentences() -> list[tuple[str, str]]:
    found = everything()
    assert len(found) > 5000
    return found


@pytest.fixture(scope="module")
def everything_said(sentences: list[tuple[str, str]]) -> str:
    return "\n".join({text for _, text in sentences})


@pytest.mark.parametrize("words", NO_LONGER)
def test_words_that_are_no_longer_used(
    words: str, sentences: list[tuple[str, str]], everything_said: str
) -> None:
    if not re.search(words, everything_said, re.MULTILINE):
        return
    found = [(place, text) for place, text in sentences if re.search(words, text)]
    assert not found, f"we say: {NO_LONGER[words]}"


def test_the_search_would_find_them() -> None:
    said = "x.wav hangs on a take; this was a trial; why: "
    assert sum(bool(re.search(words, said)) for words in NO_LONGER) == 3
