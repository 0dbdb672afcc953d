"""Comps that draw on other versions, other parts and finished files, as notebook lines."""

from __future__ import annotations

from dataclasses import replace

import pytest

from logbook.errors import LogbookError
from logbook.notebook.lines.meaning import mean
from logbook.notebook.lines.page import LineOutcome, Page
from logbook.notebook.lines.reading import read_line
from logbook.notebook.lines.where import Where
from logbook.records import (
    AudioFile,
    Comp,
    CompPiece,
    FormSection,
    Part,
    Session,
    Song,
    Take,
    Version,
)


def sections(*said: tuple[str, int, int]) -> tuple[FormSection, ...]:
    return tuple(FormSection(name=name, start=start, bars=count) for name, start, count in said)


GUITAR = Part(
    name="guitar",
    takes=(
        Take(number=1, session="day one", bars="1-16"),
        Take(number=2, session="day one", bars="1-16"),
    ),
)
RADIO = Version(
    name="radio",
    form=sections(("verse", 1, 8), ("chorus", 9, 8)),
    parts=(GUITAR, Part(name="high", takes=(Take(number=5, bars="1-16"),))),
)
ALBUM = Version(
    name="album long",
    form=sections(("intro", 1, 4), ("verse", 5, 8), ("chorus", 13, 8)),
    parts=(
        replace(GUITAR, takes=(Take(number=1, bars="1-20"), Take(number=3, result="reject"))),
        Part(name="low guitar", takes=(Take(number=7, bars="5-12"),)),
    ),
    files=(AudioFile(path="mixes/album_mix.wav"),),
)
WHERE = Where(
    song=Song(title="Saltpan Road", versions=(RADIO, ALBUM)),
    version="radio",
    part="guitar",
    titles=("Saltpan Road",),
    sessions=("day one", "day two"),
    session=Session(name="day one", date="2026-11-25"),
    today="2026-11-25",
)


def outcome(line: str, where: Where = WHERE) -> LineOutcome:
    understood = read_line(line, where)
    if understood.fact is None:
        raise LogbookError(understood.why, understood.remedy)
    assert read_line(str(understood.fact), where).fact == understood.fact
    return mean(understood.fact, Page(where))


def pieces(line: str) -> list[str]:
    comp = next(e.record for e in outcome(line).writes if isinstance(e.record, Comp))
    return [
        " ".join(
            filter(
                None,
                (
                    each.bars,
                    each.from_file or f"t{each.take}",
                    each.session and f"({each.session})",
                    "of" * each.is_elsewhere, f"{each.from_version}/{each.from_part}",
                    f"@ {each.source}" * (each.source not in ("", each.bars)),
                ),
            )
        )
        for each in comp.pieces
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("line", "wanted"),
    [
        ("comp t1 of album long 1-8", ["1-8 t1 of album long/"]),
        ("comp t1 of album 1-8", ["1-8 t1 of album long/"]),
        ('comp t1 of "album long" 1-8, t2 9-16', ["1-8 t1 of album long/", "9-16 t2 /"]),
        ("comp t1 1-8 of album long", ["1-8 t1 of album long/"]),
        ("comp mix of album long 1-8", ["1-8 mix of album long/"]),
        ("comp Mix of Album 1-4, 9-12", ["1-4 mix of album long/", "9-12 mix of album long/"]),
        ("comp mix of album 17-20 at 1", ["1-4 mix of album long/ @ 17-20"]),
        ("comp 1-4 mix of album @ 17-20", ["1-4 mix of album long/ @ 17-20"]),
        ("comp t7 of album long/low guitar 5-12", ["5-12 t7 of album long/low guitar"]),
        ('comp t7 of album/"low guitar"', ["5-12 t7 of album long/low guitar"]),
        ("comp t5 of high 1-8", ["1-8 t5 of /high"]),
        ("comp t5 of /high 1-8", ["1-8 t5 of /high"]),
        ("comp t1 of radio 1-8", ["1-8 t1 /"]),
        ("comp t1 of guitar 1-8", ["1-8 t1 /"]),
        ('comp file "album_mix.wav" of album 1-8', ["1-8 album_mix.wav of album long/"]),
        ("comp file album_mix.wav of album 1-8", ["1-8 album_mix.wav of album long/"]),
        # Sections are those of the version it comes from, and stand where this form has them.
        ("comp t1 of album verse", ["1-8 t1 of album long/ @ 5-12"]),
        ("comp mix of album chorus, t1 verse", ["1-8 t1 /", "9-16 mix of album long/ @ 13-20"]),
        ("comp mix of album intro at chorus", ["9-12 mix of album long/ @ 1-4"]),
        ('comp t1/"day one" 1-8', ["1-8 t1 (day one) /"]),
        ("comp rough mix: t1 1-8", ["1-8 t1 /"]),
    ],
)  # fmt: skip
def test_pieces_come_from_where_they_say(line: str, wanted: list[str]) -> None:
    assert pieces(line) == wanted


@pytest.mark.parametrize(
    ("line", "why"),
    [
        ("comp t1/album 1-8", "is a version of Saltpan Road, not a session"),
        ("comp t1/radio 1-8", "is a version of Saltpan Road, not a session"),
        ("comp t1/yesterday 1-8", 'no take 1 belongs to a session called "yesterday"'),
        ("comp t1 of cassette 1-8", 'no version is called "cassette"'),
        ("comp t1 of day two 1-8", "is neither a range of bars nor a section"),
        ('comp t1 of "day two" 1-8', "is a session, not a version"),
        ("comp t5 of album/high 1-8", "has no part high"),
        ("comp t1 of album/ 1-8", "does not say which part it is of"),
        ("comp mix of album bridge", "neither a range of bars nor a section"),
        ("comp mix of album intro", "not clear where it stands"),
        ("comp t0 of album 1-8", "does not say which take"),
        ("comp t1 of", "neither a range of bars nor a section"),
    ],
)
def test_what_is_not_in_the_log_is_never_taken_for_another(line: str, why: str) -> None:
    with pytest.raises(LogbookError, match=why):
        outcome(line)


def test_a_part_that_is_not_there_names_those_that_are() -> None:
    where = replace(WHERE, part="high")
    with pytest.raises(LogbookError, match="has no part high") as caught:
        outcome("comp t1 of album 1-8", where)
    assert "low guitar" in caught.value.remedy


@pytest.mark.parametrize(
    ("line", "against"),
    [
        ("comp t9 of album 1-16", "there is no take 9 of guitar of album long"),
        ("comp t3 of album 1-16", "take 3 of album long is a reject"),
        ("comp t7 of album/low guitar 1-16", "covers bars 5-12, not 1-16"),
        ("comp master of radio 1-16", "the master of radio is not in the log"),
    ],
)
def test_what_contradicts_a_piece_from_elsewhere_is_told(line: str, against: str) -> None:
    assert any(against in each for each in outcome(line).warnings), outcome(line).warnings


def test_the_answer_says_where_a_piece_comes_from() -> None:
    assert outcome("comp mix of album 17-24 at 1, t2 9-16").told == (
        "comp of guitar: 1-8 the mix of album long (17-24), 9-16 take 2"
    )


def test_a_name_that_is_a_version_and_a_part_is_asked_about() -> None:
    both = replace(RADIO, parts=(*RADIO.parts, Part(name="Album long")))
    where = replace(WHERE, song=Song(title="Saltpan Road", versions=(both, ALBUM)))
    with pytest.raises(LogbookError, match="a version and a part"):
        outcome("comp t1 of album long 1-8", where)


def test_a_form_said_anew_moves_what_other_versions_take_from_it() -> None:
    drawing = replace(
        RADIO,
        parts=(
            replace(
                GUITAR,
                comps=(
                    Comp(
                        pieces=(
                            CompPiece(bars="1-8", take=1, source="5-12", from_version="album long"),
                        )
                    ),
                ),
            ),
        ),
    )
    where = replace(
        WHERE,
        song=Song(title="Saltpan Road", versions=(drawing, ALBUM)),
        version="album long",
    )
    done = outcome("form intro 4 bars, bridge 2 bars, verse 8 bars, chorus 8 bars", where)
    (write,) = [each for each in done.writes if isinstance(each.record, Comp)]
    assert write.owner == ("Saltpan Road", "radio", "guitar")
    assert [(e.bars, e.source) for e in write.record.pieces] == [("1-8", "7-14")]
