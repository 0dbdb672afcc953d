"""From a small invented log to its credits."""

from __future__ import annotations

import random
from dataclasses import replace
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.crediting.credits import (
    STANDING,
    Credits,
    credits_of_project,
    credits_of_song,
    credits_of_version,
)
from logbook.crediting.errors import CreditError
from logbook.crediting.heard import part_is_heard, sessions_of
from logbook.crediting.people import Names, has_full_name
from logbook.crediting.wording import (
    CSV_HEADER,
    apart_lines,
    as_dict,
    by_person,
    by_role,
    csv_rows,
    missing_lines,
    share_lines,
    sleeve_line,
)
from logbook.records.log import Log, Project, Track
from logbook.records.parts import Comp, CompPiece, Part, Take
from logbook.records.people import Person, Role, Share
from logbook.records.places import Instrument, Session
from logbook.records.songs import Song, Version

ADA = Person(
    name="Ada Quill", full_name="Adaline Quill", ipi="00000000199", isni="0000000218250097"
)
BO = Person(name="bo", credited_as="Bo Tern", full_name="Bogdan Tern", ipi="00000000297")
CY = Person(name="Cy Moor", other_names=("Cyrus",))
DOT = Person(name="Dot")

PARTS = (
    Part(
        name="acoustic left",
        player="Ada Quill",
        instrument="the old one",
        heard=True,
        takes=(Take(number=1, session="day one"),),
    ),
    Part(name="acoustic right", player="ada  quill", instrument="the old one", heard=True),
    Part(
        name="fills",
        player="bo",
        instrument="mandolin",
        heard=False,
        takes=(Take(number=1, session="day two"),),
    ),
    Part(name="bass", player="Bo Tern", instrument="bass", heard=True),
)
VERSION = Version(
    name="album",
    isrc="AA6Q72000047",
    parts=PARTS,
    roles=(Role(person="Cyrus", role="Mix engineer"), Role(person="Ada Quill", role="producer")),
)
SONG = Song(
    title="Low Water",
    iswc="T0345246801",
    shares=(
        Share(
            person="Ada Quill",
            share=Fraction(1, 2),
            agreed_on="2026-05-02",
            agreed_by="both, at the kitchen table",
        ),
        Share(person="bo", share=Fraction(1, 2)),
    ),
    versions=(VERSION,),
)
LOG = Log(
    people=(ADA, BO, CY, DOT),
    instruments=(Instrument(name="the old one", kind="acoustic guitar"),),
    sessions=(
        Session(
            name="day one",
            people=(
                Role(person="Cy Moor", role="recording engineer"),
                Role(person="Dot", role="assistant"),
                Role(person="Ada Quill", role="performer"),
            ),
        ),
        Session(name="day two", people=(Role(person="Dot", role="engineer"),)),
        Session(name="elsewhere", people=(Role(person="Dot", role="editor"),)),
    ),
    songs=(SONG,),
    projects=(
        Project(
            title="Tides",
            barcode="6291041500213",
            tracks=(Track(song="Low Water", version="album"),),
        ),
    ),
)


def credits(song: Song = SONG, version: Version | None = VERSION, log: Log = LOG) -> Credits:
    return credits_of_version(log, song, version)


def with_part(part: Part) -> Version:
    return replace(VERSION, parts=(*PARTS, part))


def kinds(found: Credits) -> list[str]:
    return [one.kind for one in found.missing]


def roles_of(found: Credits, name: str) -> tuple[str, ...]:
    return next((roles for person, roles in by_person(found) if person.name == name), ())


def test_by_person_names_everyone_with_what_they_did() -> None:
    assert [(person.name, roles) for person, roles in by_person(credits())] == [
        ("Ada Quill", ("writer", "producer", "performer, acoustic guitar")),
        ("bo", ("writer", "performer, bass")),
        ("Cy Moor", ("recording engineer", "mixer")),
        ("Dot", ("assistant",)),
    ]


def test_by_role_uses_the_names_on_the_sleeve() -> None:
    assert by_role(credits()) == (
        ("writer", ("Ada Quill", "Bo Tern")),
        ("producer", ("Ada Quill",)),
        ("performer, acoustic guitar", ("Ada Quill",)),
        ("performer, bass", ("Bo Tern",)),
        ("recording engineer", ("Cy Moor",)),
        ("assistant", ("Dot",)),
        ("mixer", ("Cy Moor",)),
    )


def test_sleeve_is_one_line() -> None:
    assert sleeve_line(credits()) == (
        "Written by Ada Quill and Bo Tern. Produced by Ada Quill. "
        "Ada Quill: acoustic guitar; Bo Tern: bass. "
        "Recorded by Cy Moor. Assisted by Dot. Mixed by Cy Moor."
    )


def test_a_player_whose_part_was_not_used_is_no_performer_on_it_and_is_listed_apart() -> None:
    found = credits()
    assert "mandolin" not in sleeve_line(found)
    assert apart_lines(found) == (
        "Bo Tern: performer, mandolin (fills), not used in the final version",
        "Dot: engineer (day two), not used in the final version",
    )


def test_a_part_that_nobody_called_heard_or_not_is_listed_apart_and_asked_for() -> None:
    found = credits(version=with_part(Part(name="shaker", player="Dot", instrument="shaker")))
    assert "shaker" not in sleeve_line(found)
    assert apart_lines(found)[-1] == (
        "Dot: performer, shaker (shaker), nobody said whether it is in the final version"
    )
    assert "not said whether heard" in kinds(found)


@pytest.mark.parametrize(
    ("part", "heard"),
    [
        (Part(name="p"), None),
        (Part(name="p", heard=True), True),
        (Part(name="p", takes=(Take(number=1, result="complete"),)), None),
        (Part(name="p", takes=(Take(number=1, result="keeper"),)), True),
        (Part(name="p", heard=False, takes=(Take(number=1, result="keeper"),)), False),
        (
            Part(name="p", comps=(Comp(pieces=(CompPiece(bars="1-4", take=1, source="1-4"),)),)),
            True,
        ),
        (Part(name="p", comps=(Comp(),)), None),
        (
            Part(
                name="p",
                comps=(Comp(final=False, pieces=(CompPiece(bars="1-4", take=1, source="1-4"),)),),
            ),
            None,
        ),
    ],
)
def test_a_finished_part_is_heard_unless_said_otherwise(part: Part, heard: bool | None) -> None:
    assert part_is_heard(part) is heard


def test_a_session_counts_only_where_the_comp_takes_something_from_it() -> None:
    part = Part(
        name="lead",
        player="Dot",
        takes=(
            Take(number=1, session="one"),
            Take(number=2, session="two"),
            Take(number=1, session="three", result="keeper"),
        ),
        comps=(
            Comp(
                pieces=(
                    CompPiece(bars="1-4", take=1, session="one", source="1-4"),
                    CompPiece(bars="5-8", take=2, source="5-8"),
                )
            ),
        ),
    )
    assert sessions_of(Version(name="v", parts=(part,))) == {
        "one": True,
        "two": True,
        "three": False,
    }
    uncomped = replace(part, comps=())
    assert sessions_of(Version(name="v", parts=(uncomped,))) == {
        "one": False,
        "two": False,
        "three": True,
    }


def test_people_of_a_session_that_recorded_nothing_for_the_version_are_not_on_it() -> None:
    assert all(line.role != "editor" for line in credits().lines)


def test_a_player_at_the_session_without_a_logged_part_is_asked_for() -> None:
    day_one = replace(
        LOG.sessions[0],
        people=(*LOG.sessions[0].people, Role(person="Eve", role="player", instrument="fiddle")),
    )
    found = credits(log=replace(LOG, sessions=(day_one,)))
    assert "fiddle" not in sleeve_line(found)
    assert "performer without part" in kinds(found)
    assert any("Eve" in line for line in apart_lines(found))


def test_performer_said_of_the_version_yields_to_a_part_that_is_not_heard() -> None:
    version = replace(
        VERSION, roles=(*VERSION.roles, Role(person="bo", role="performer", instrument="Mandolin"))
    )
    assert "mandolin" not in sleeve_line(credits(version=version)).lower()
    other = replace(
        VERSION,
        roles=(*VERSION.roles, Role(person="bo", role="performer", instrument="tambourine")),
    )
    assert "tambourine" in sleeve_line(credits(version=other))


def test_a_part_engineer_is_credited_with_the_part() -> None:
    by = (Role(person="Dot", role="engineer"),)
    used = with_part(Part(name="x", player="bo", instrument="lute", heard=True, roles=by))
    unused = with_part(Part(name="x", player="bo", instrument="lute", heard=False, roles=by))
    assert "engineer" in roles_of(credits(version=used), "Dot")
    assert "engineer" not in roles_of(credits(version=unused), "Dot")


def test_a_composer_with_a_share_is_not_called_a_writer_too() -> None:
    song = replace(
        SONG,
        roles=(Role(person="bo", role="composer"), Role(person="bo", role="lyrics")),
        shares=(*SONG.shares, Share(person="Reed House", share=Fraction(1), side="publisher")),
    )
    found = credits(song=song)
    assert roles_of(found, "bo")[:2] == ("composer", "lyricist")
    assert "writer" not in roles_of(found, "bo")
    assert roles_of(found, "Reed House") == ("publisher",)
    shares = [
        row[CSV_HEADER.index("share")] for row in csv_rows([found])[1:] if row[3] == "Bo Tern"
    ]
    assert [share for share in shares if share] == ["50.00%"]


def test_nothing_is_missing_from_a_full_log_but_what_is_listed() -> None:
    found = credits()
    assert kinds(found) == ["no mastering engineer"]
    assert missing_lines(found) == (
        "No mastering engineer is named; log a mastering engineer on the version or at its "
        "session.",
    )


def test_everything_is_missing_from_an_empty_log() -> None:
    song = Song(title="Bare", versions=(Version(name="demo"),))
    found = credits(song=song, version=song.versions[0], log=Log(songs=(song,)))
    assert kinds(found) == [
        "no writer",
        "no producer",
        "no engineer",
        "no mixer",
        "no mastering engineer",
        "no performer",
        "no ISWC",
        "no ISRC",
    ]
    assert sleeve_line(found) == ""
    assert by_person(found) == ()


@pytest.mark.parametrize(
    ("song", "version", "kind", "says"),
    [
        (replace(SONG, iswc=""), VERSION, "no ISWC", "ISWC"),
        (SONG, replace(VERSION, isrc=""), "no ISRC", "ISRC"),
        (replace(SONG, iswc="T0345246802"), VERSION, "wrong ISWC", "1 was expected"),
        (SONG, replace(VERSION, isrc="AA6Q7"), "wrong ISRC", "5 characters"),
        (
            replace(SONG, shares=SONG.shares[:1]),
            VERSION,
            "shares not whole",
            "the writers' shares total 1/2; 1/2 is missing",
        ),
        (
            replace(SONG, shares=(), roles=(Role(person="bo", role="writer"),)),
            VERSION,
            "no shares",
            "no writer's share",
        ),
        (
            replace(SONG, roles=(Role(person="Cy Moor", role="lyricist"),)),
            VERSION,
            "writer without share",
            "Cy Moor is a writer",
        ),
        (
            replace(SONG, roles=(Role(person="Cy Moor", role="lyricist"),)),
            VERSION,
            "no IPI",
            "Cy Moor is a writer without IPI",
        ),
        (
            SONG,
            replace(VERSION, roles=(Role(person="Dot", role="enginer"),)),
            "unknown role",
            "no role is called 'enginer'",
        ),
        (
            SONG,
            replace(VERSION, roles=(Role(person="Dot", role="lyricist"),)),
            "misplaced role",
            "Dot is down as lyricist on a version",
        ),
        (
            SONG,
            with_part(Part(name="shaker", player="Dot", instrument="shaker", heard=True)),
            "no full name",
            "Dot plays",
        ),
        (
            SONG,
            with_part(Part(name="noise", player="Ada Quill", heard=True)),
            "no instrument",
            "Ada Quill",
        ),
        (SONG, with_part(Part(name="claps", heard=True)), "no player", "'claps'"),
    ],
)
def test_missing_things_are_listed(song: Song, version: Version, kind: str, says: str) -> None:
    found = [one for one in credits(song, version).missing if one.kind == kind]
    assert found
    assert says in found[0].what


def test_a_bare_player_line_beside_one_with_an_instrument_is_the_same_credit() -> None:
    version = replace(VERSION, roles=(*VERSION.roles, Role(person="bo", role="performer")))
    assert "no instrument" not in kinds(credits(version=version))
    assert roles_of(credits(version=version), "bo") == ("writer", "performer, bass")


def test_wrong_and_shared_numbers_of_people_are_listed_and_printed_as_written() -> None:
    people = (replace(ADA, ipi="00000000198"), replace(BO, isni=ADA.isni))
    found = credits(log=replace(LOG, people=people))
    says = [one.what for one in found.missing if one.kind in ("wrong IPI", "same identifier")]
    assert any("99 was expected" in what for what in says)
    assert "Ada Quill and Bo Tern have the same ISNI 0000 0002 1825 0097" in says
    ipis = {row[CSV_HEADER.index("IPI")] for row in csv_rows([found])[1:]}
    assert "IPI 00000000198" in ipis


def test_shares_are_said_with_agreement_and_verdict() -> None:
    assert share_lines(credits()) == (
        "Ada Quill, writer: 1/2 (50 %), agreed 2026-05-02 by both, at the kitchen table",
        "Bo Tern, writer: 1/2 (50 %)",
        "The writers' shares total 100 %; no publisher is logged.",
    )
    assert share_lines(credits(song=replace(SONG, shares=()))) == ()


def test_shares_that_need_rounding_say_how_and_make_a_hundred() -> None:
    thirds = tuple(Share(person=who, share=Fraction(1, 3)) for who in ("Ada Quill", "bo", "Dot"))
    found = credits(song=replace(SONG, shares=thirds))
    lines = share_lines(found)
    assert [line.partition(": ")[2] for line in lines[:3]] == [
        "1/3 (33.34 %)", "1/3 (33.33 %)", "1/3 (33.33 %)",
    ]  # fmt: skip
    assert "add up to the whole" in lines[3]
    rows = csv_rows([found])
    share = rows[0].index("share")
    assert {(row[share], row[share + 1]) for row in rows[1:] if row[share]} == {
        ("33.34%", "1 in 3"), ("33.33%", "1 in 3"),
    }  # fmt: skip


def test_a_song_without_version_has_its_writers() -> None:
    song = replace(SONG, versions=())
    (found,) = credits_of_song(replace(LOG, songs=(song,)), "low water")
    assert sleeve_line(found) == "Written by Ada Quill and Bo Tern."
    assert kinds(found) == []


def test_a_release_credits_its_tracks_and_prints_its_number() -> None:
    (found,) = credits_of_project(LOG, "tides")
    assert [one.printed for one in found.identifiers] == [
        "ISWC T-034.524.680-1",
        "ISRC AA-6Q7-20-00047",
        "EAN 6 291041 500213",
    ]
    assert found.release == "Tides"


@pytest.mark.parametrize(
    ("ask", "says"),
    [
        (lambda: credits_of_song(LOG, "High Water"), "No song is called 'High Water'"),
        (lambda: credits_of_project(LOG, "Ebb"), "the log has 'Tides'"),
        (lambda: credits_of_project(Log(), "Ebb"), "the log has none yet"),
        (
            lambda: credits_of_project(
                replace(
                    LOG,
                    projects=(
                        Project(title="P", tracks=(Track(song="Low Water", version="live"),)),
                    ),
                ),
                "P",
            ),
            "'Low Water' has no version called 'live'",
        ),
    ],
)
def test_what_is_not_in_the_log_is_said_with_what_is(ask: object, says: str) -> None:
    assert callable(ask)
    with pytest.raises(CreditError) as caught:
        ask()
    assert says in str(caught.value)


def test_csv_has_a_row_for_every_line_and_no_cell_that_runs() -> None:
    nasty = Person(name="=cmd()", full_name="\x1b[2Jx y")
    version = with_part(Part(name="@part", player="=cmd()", instrument="+kazoo", heard=True))
    found = credits(version=version, log=replace(LOG, people=(*LOG.people, nasty)))
    rows = csv_rows([found, found])
    every = (*found.lines, *found.not_said, *found.not_used)
    assert len(rows) == 1 + 2 * len(every)
    assert all(len(row) == len(CSV_HEADER) for row in rows)
    row = next(row for row in rows if "cmd" in row[3])
    assert (row[3], row[4], row[6], row[8]) == ("'=cmd()", "␛[2Jx y", "'+kazoo", "'@part")
    assert not any(cell.startswith(("=", "+", "-", "@", "\t")) for row in rows for cell in row)


def test_control_codes_in_names_do_nothing_on_a_terminal() -> None:
    evil = replace(BO, credited_as="B\x1b[31mo\u202e")
    found = credits(log=replace(LOG, people=(ADA, evil, CY, DOT)))
    texts = [sleeve_line(found), *share_lines(found), *apart_lines(found), *missing_lines(found)]
    assert all("\x1b" not in text and "\u202e" not in text for text in texts)
    assert "B␛[31mo<U+202E>" in sleeve_line(found)


def test_json_values_say_it_all() -> None:
    found = as_dict(credits())
    assert found["song"] == "Low Water"
    assert found["standing"] == STANDING
    assert "not a contract" in STANDING
    assert "collecting society" in STANDING
    assert found["identifiers"] == [
        {
            "kind": "ISWC",
            "plain": "T0345246801",
            "printed": "ISWC T-034.524.680-1",
            "problem": "",
        },
        {
            "kind": "ISRC",
            "plain": "AA6Q72000047",
            "printed": "ISRC AA-6Q7-20-00047",
            "problem": "",
        },
    ]
    shares = found["shares_check"]
    assert isinstance(shares, dict)
    assert shares["writers_total"] == "1"
    not_used = found["not_used"]
    assert isinstance(not_used, list)
    assert {
        "person": "bo",
        "credited_as": "Bo Tern",
        "role": "performer",
        "instrument": "mandolin",
        "on": "part",
        "of": ["fills"],
    } in not_used


@given(st.randoms(use_true_random=False))
def test_the_order_of_the_log_changes_nothing(shuffle: random.Random) -> None:
    def mixed(things: tuple[Any, ...]) -> tuple[Any, ...]:
        return tuple(shuffle.sample(things, len(things)))

    version = replace(VERSION, parts=mixed(VERSION.parts), roles=mixed(VERSION.roles))
    song = replace(SONG, shares=mixed(SONG.shares))
    log = replace(LOG, people=mixed(LOG.people), sessions=mixed(LOG.sessions))
    assert as_dict(credits(song, version, log)) == as_dict(credits())
    assert csv_rows([credits(song, version, log)]) == csv_rows([credits()])


def test_a_person_is_found_by_any_of_their_names() -> None:
    names = Names((ADA, BO, CY))
    for spelling in ("bo", "BO  ", "Bo Tern", "bogdan tern"):
        assert names.person(spelling) == BO
    assert names.person("Cyrus") == CY
    assert names.person("Nobody  Known") == Person(name="Nobody Known")
    assert names.person("") == Person(name="")


def test_a_name_of_two_people_finds_neither_and_the_logs_own_name_wins() -> None:
    one = Person(name="one", other_names=("Red",))
    two = Person(name="two", other_names=("Red", "one"))
    names = Names((one, two))
    assert names.person("Red") == Person(name="Red")
    assert names.person("one") == one


@pytest.mark.parametrize(
    ("person", "known"),
    [
        (Person(name="Dot"), False),
        (Person(name="D. Vane"), False),
        (Person(name="Dot", full_name="Dorothea Vane"), True),
        (Person(name="Dorothea Vane"), True),
    ],
)
def test_two_whole_words_are_a_full_name(person: Person, known: bool) -> None:
    assert has_full_name(person) is known
