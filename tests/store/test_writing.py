"""Putting, editing and removing: what is added, changed, left, refused."""

from __future__ import annotations

import contextlib
from dataclasses import replace
from fractions import Fraction

import pytest
from sqlalchemy import text

from logbook import records as r
from logbook.errors import LogbookError
from logbook.store.changing import Change
from logbook.store.editing import edit
from logbook.store.errors import HangsOnError, NotFoundError
from logbook.store.finding import LogPlace, find
from logbook.store.reading import each_record, read_log
from logbook.store.remembering import each_song
from logbook.store.removing import remove
from logbook.store.store import Store
from logbook.store.undoing import undo
from logbook.store.writing import attach, put
from tests.store.filled import GUITAR, audio, fill, small_log

ALBUM = GUITAR._replace(part="")


def whole(store: Store) -> r.Log:
    with store.reading() as connection:
        return read_log(connection)


def guitar(store: Store) -> r.Part:
    return whole(store).songs[0].versions[0].parts[0]


def refused(store: Store, record: object, place: LogPlace = ALBUM) -> LogbookError:
    def attempt() -> None:
        with store.change("bad") as change:
            put(change, record, place)

    before = whole(store)
    with pytest.raises(LogbookError) as caught:
        attempt()
    assert whole(store) == before
    return caught.value


def test_only_what_is_given_is_changed(store: Store) -> None:
    fill(store)
    before = guitar(store)
    with store.change("load") as change:
        done = put(change, r.Part(name="guitar", capo="3"), ALBUM, given={"capo"})[0]
    assert done.action == "changed"
    assert done.fields == (("capo", "2", "3"),)
    assert guitar(store) == replace(before, capo="3")


def test_a_stated_list_is_taken_as_a_whole_and_keyed_ones_are_merged(store: Store) -> None:
    fill(store)
    before = guitar(store)
    part = r.Part(
        name="guitar",
        voicings=(r.Voicing(label="G", frets="3 2 0 0 0 3"),),
        chart=(r.ChartEntry(bar=1, voicing="G"),),
    )
    with store.change("load") as change:
        done = put(change, part, ALBUM, given={"voicings", "chart"})
    assert [(d.action, d.kind) for d in done] == [("changed", "part"), ("added", "voicing")]
    after = guitar(store)
    assert after.voicings == (*before.voicings, part.voicings[0])
    assert after.chart == part.chart
    assert after.takes == before.takes


def test_one_entry_finds_its_place_in_a_list(store: Store) -> None:
    fill(store)
    with store.change("chart add") as change:
        assert put(change, r.ChartEntry(bar=2, beat="1", voicing="C"), GUITAR)[0].action == "added"
        assert put(change, r.ChartEntry(bar=3, voicing="Am"), GUITAR)[0].action == "changed"
        assert put(change, r.ChartEntry(bar=3, voicing="Am"), GUITAR)[0].action == "left"
    assert [(e.bar, e.beat, e.voicing) for e in guitar(store).chart] == [
        (1, "1", "C"),
        (2, "1", "C"),
        (2, "5/2", "Am"),
        (3, "1", "Am"),
    ]


def test_a_new_final_comp_takes_that_place_from_the_old_one(store: Store) -> None:
    fill(store)
    with store.change("comp add") as change:
        put(change, r.Comp(name="second", final=True), GUITAR)
    assert [(comp.name, comp.final) for comp in guitar(store).comps] == [
        ("comp", False),
        ("second", True),
    ]
    with store.change("comp edit") as change:
        edit(change, find(change.connection, "comp", "comp", GUITAR), {"final": True})
    assert [comp.final for comp in guitar(store).comps] == [True, False]
    undo(store, 2)
    assert [(comp.name, comp.final) for comp in guitar(store).comps] == [("comp", True)]


def test_a_comp_may_name_a_take_that_nobody_logged(store: Store) -> None:
    fill(store)
    assert guitar(store).comps[0].pieces[1].take == 9


def test_a_usual_tuning_comes_into_the_log_when_it_is_named(store: Store) -> None:
    fill(store)
    with store.change("part edit") as change:
        edit(change, find(change.connection, "part", "guitar", GUITAR), {"tuning": "DADGAD"})
    assert guitar(store).tuning == "DADGAD"
    assert whole(store).tunings[-1].strings == "D2 A2 D3 G3 A3 D4"


@pytest.mark.parametrize(
    ("record", "said"),
    [
        (r.Part(name="x", player="Ava"), '"Ada"'),
        (r.Part(name="x", counted="bridge"), "x"),
        (r.Part(name=" "), "empty"),
        (r.Part(name="a\x00b"), "zero character"),
        (r.Part(name="x", notes="\ud800"), "half a character"),
        (r.Part(name="x", capo="-1"), "x"),
        (r.Part(name="x", doubles=(r.Double(part="x"),)), "double"),
        (r.Part(name="x", doubles=(r.Double(part="guitr"),)), '"guitar"'),
        (r.Part(name="x", chart=(r.ChartEntry(bar=1, voicing="C"),)), 'no voicing is called "C"'),
        (r.TempoChange(bar=1, bpm=0), "tempo"),
        (r.TempoChange(bar=1, bpm=float("nan")), "nan"),
        (r.FormSection(name="verse", start=1, bars=0), "form"),
        (r.MeterChange(bar=1, meter=" "), "meter"),
        (r.AudioFile(path="x", size=2**63), "too large"),
        (r.FormSection(name="verse", start=2**31, bars=1), "too large"),
    ],
)
def test_what_the_log_cannot_hold_is_refused(store: Store, record: object, said: str) -> None:
    fill(store)
    assert said in str(refused(store, record))


@pytest.mark.parametrize(
    "take",
    [r.Take(number=1, result="superb"), r.Take(number=-1), r.Take(number=1, session="day three")],
)
def test_takes_that_cannot_be(store: Store, take: r.Take) -> None:
    fill(store)
    refused(store, take, GUITAR)


def test_shares_lie_between_nothing_and_the_whole(store: Store) -> None:
    fill(store)
    for share in (Fraction(-1, 2), Fraction(3, 2)):
        refused(store, r.Share(person="Ada", share=share), LogPlace("Salt Road"))
    refused(store, r.Share(person="Ada", share=Fraction(1), side="singer"), LogPlace("Salt Road"))


def test_the_tables_themselves_refuse_what_a_record_may_not_say(store: Store) -> None:
    """Also for somebody who writes to the database with another program."""
    fill(store)
    bad = [
        "UPDATE tempo_change SET bpm = 0",
        "UPDATE tempo_change SET bpm = -1",
        "UPDATE part SET capo = '-2'",
        "UPDATE part SET counted = 'bridge'",
        "UPDATE part SET doubled = 'maybe'",
        "UPDATE part SET name = '  '",
        "UPDATE share SET numerator = denominator + 1",
        "UPDATE share SET numerator = -1",
        "UPDATE share SET denominator = 0",
        "UPDATE share SET side = 'singer'",
        "UPDATE take SET result = 'superb'",
        "UPDATE take SET number = 1, session_id = NULL",
        "UPDATE form SET bars = 0",
        "UPDATE song SET title = 'Salt Road'",
        "UPDATE arranged_part SET way = 'magic'",
        "UPDATE setlist_entry SET place = 'middle'",
        "UPDATE role SET song_id = 1, version_id = 1",
        "UPDATE role SET song_id = NULL, version_id = NULL, session_id = NULL, part_id = NULL",
        "UPDATE audio_file SET take_id = 1, part_id = 1",
        "UPDATE chart SET voicing_id = 99",
        "UPDATE double SET other_id = part_id",
        "UPDATE pattern SET feel = 'stumbling'",
        "UPDATE punch_in SET bars = ''",
        "DELETE FROM person",
        "DELETE FROM session",
        "DELETE FROM instrument",
        "DELETE FROM tuning",
        "INSERT INTO comp (part_id, name, final, position, revision) VALUES (1, 'b', true, 1, 1)",
    ]
    from sqlalchemy.exc import IntegrityError

    for statement in bad:
        allowed = False
        with store.engine.connect() as connection, contextlib.suppress(IntegrityError):
            connection.execute(text(statement.replace("UPDATE double", 'UPDATE "double"')))
            allowed = True
        assert not allowed, statement


def test_an_added_thing_cannot_be_there_twice(store: Store) -> None:
    fill(store)

    def rename() -> None:
        with store.change("edit") as change:
            edit(change, find(change.connection, "song", "Low"), {"title": "Salt Road"})

    with pytest.raises(LogbookError, match="would be there twice"):
        rename()


def test_editing_a_field_that_is_not_there(store: Store) -> None:
    fill(store)

    def attempt() -> None:
        with store.change("edit") as change:
            edit(change, find(change.connection, "song", "Low"), {"colour": "blue"})

    with pytest.raises(LogbookError, match="no 'colour'"):
        attempt()


def test_removing_says_what_hangs_on_it_and_wants_to_be_told_twice(store: Store) -> None:
    fill(store)

    def attempt(confirmed: bool, kind: str, name: str, place: LogPlace = GUITAR) -> None:
        with store.change("remove") as change:
            remove(change, find(change.connection, kind, name, place), confirmed=confirmed)

    before = whole(store)
    with pytest.raises(HangsOnError, match="4 takes") as caught:
        attempt(False, "part", "guitar")
    assert caught.value.counts["punch_in"] == 1
    assert whole(store) == before
    attempt(True, "part", "guitar")
    left = whole(store).songs[0].versions[0].parts
    assert [part.name for part in left] == ["guitar two", "horn"]
    undo(store)
    assert whole(store) == before
    attempt(False, "song", "Low Water")


@pytest.mark.parametrize(
    ("kind", "name", "said"),
    [
        ("person", "Ada", "2 roles"),
        ("instrument", "Old", "1 part"),
        ("tuning", "dropped", "1 instrument, 1 part"),
        ("session", "day two", "2 takes"),
        ("voicing", "Am", "1 chart"),
    ],
)
def test_what_is_used_elsewhere_stays(store: Store, kind: str, name: str, said: str) -> None:
    fill(store)

    def attempt() -> None:
        with store.change("remove") as change:
            remove(change, find(change.connection, kind, name, GUITAR), confirmed=True)

    before = whole(store)
    with pytest.raises(HangsOnError, match=said):
        attempt()
    assert whole(store) == before


def test_a_file_moves_from_one_thing_to_another(store: Store) -> None:
    fill(store)
    with store.change("attach") as change:
        loose = find(change.connection, "audio_file", "loose.wav")
        place = GUITAR._replace(take=2, session="day two")
        assert attach(change, loose, place).action == "changed"
        assert attach(change, loose, place).action == "left"
    assert guitar(store).takes[3].files[0] == audio("loose.wav")
    assert whole(store).files == ()
    undo(store)
    assert whole(store).files == (audio("loose.wav"),)


def test_the_same_file_put_elsewhere_moves_and_is_not_doubled(store: Store) -> None:
    fill(store)
    with store.change("load") as change:
        place = GUITAR._replace(take=1, session="day two")
        put(change, audio("takes/guitar_1.wav"), place)
    assert [len(take.files) for take in guitar(store).takes] == [0, 1, 0, 0]


def test_lists_need_not_read_what_things_hold(store: Store) -> None:
    fill(store)
    with store.reading() as connection:
        songs = list(each_record(connection, "song", shallow=True))
        assert [song.title for song in songs] == ["Salt Road", "Low Water"]
        assert all(song.versions == () for song in songs)
        assert [song.title for song in each_record(connection, "song") if song.versions]


def test_a_bulk_statement_cannot_pass_the_history_by(store: Store) -> None:
    from sqlalchemy import delete

    from logbook.store.models.takes import TakeRow

    fill(store)
    with store.change("sly") as change, pytest.raises(RuntimeError, match="history"):
        change.session.execute(delete(TakeRow))


def test_findings_are_remembered_until_something_they_are_about_changes(store: Store) -> None:
    fill(store)
    asked: list[str] = []

    def look(log: r.Log) -> str:
        (song,) = log.songs
        asked.append(song.title)
        return f"{song.title}: {len(log.people)}"

    def ask(rules: str = "rules 2") -> list[str]:
        asked.clear()
        list(each_song(store, rules, look))
        return list(asked)

    def then(
        kind: str, name: str, fields: dict[str, object], place: LogPlace = GUITAR
    ) -> list[str]:
        with store.change("edit") as change:
            edit(change, find(change.connection, kind, name, place), fields)
        return ask()

    assert ask() == ["Salt Road", "Low Water"]
    assert ask() == []
    assert ask("rules 3") == ["Salt Road", "Low Water"]
    assert ask("rules 3") == []
    ask()
    assert then("take", "2", {"notes": "x"}, GUITAR._replace(session="day two")) == ["Salt Road"]
    assert then("song", "Low", {"notes": "x"}) == ["Low Water"]
    assert then("tuning", "dropped", {"notes": "x"}) == ["Salt Road"]
    assert then("person", "Ben", {"low": "C3"}) == ["Salt Road"]
    assert then("session", "day one", {"gear": "x"}) == ["Salt Road"]
    assert then("instrument", "Old", {"gauge": "12-54"}) == ["Salt Road"]
    undo(store)
    assert ask() == ["Salt Road"]
    with store.change("add") as change:
        put(change, r.Person(name="Dov"))
        put(change, r.Song(title="Third"))
    assert ask() == ["Third"]


def test_a_take_of_nothing_is_refused(store: Store) -> None:
    with pytest.raises(NotFoundError, match='no song is called "Salt Road"'):
        put_take(store)


def put_take(store: Store) -> None:
    with store.change("take add") as change:
        put(change, r.Take(number=1), GUITAR)


def test_what_was_put_is_seen_within_the_same_change(store: Store) -> None:
    def check(change: Change) -> None:
        for record in small_log().people:
            put(change, record)
        assert find(change.connection, "person", "ad").name == "Ada"

    with store.change("load") as change:
        check(change)
