"""Comp pieces from another version, another part or a finished file, while those change."""

from __future__ import annotations

import pytest
from sqlalchemy import text

from logbook import records as r
from logbook.notebook.form_changes import carry_form
from logbook.records.form_edits import delete_bars
from logbook.store.changing import Change
from logbook.store.editing import edit
from logbook.store.errors import HangsOnError
from logbook.store.finding import FoundRow, LogPlace
from logbook.store.moving import move_take
from logbook.store.reading import read_log
from logbook.store.removing import hanging, remove
from logbook.store.store import Store
from logbook.store.undoing import undo, undo_command
from logbook.store.writing import put, put_log


def piece(bars: str, take: int = 1, **said: str) -> r.CompPiece:
    return r.CompPiece(bars=bars, take=take, source=bars, **said)  # type: ignore[arg-type]


PIECES = (
    piece("1-2"),
    piece("3-4", from_version="album"),
    piece("5-6", from_version="Album", from_part="high", session="day one"),
    piece("7-8", 0, from_version="album", from_file="mix"),
    piece("9-10", 0, from_version="album", from_file="last.wav"),
    piece("11-12", 3, from_part="second"),
    piece("13-14", 7, from_version="album"),  # nobody logged a take 7
)


@pytest.fixture
def log(store: Store) -> Store:
    album = r.Version(
        name="album",
        parts=(
            r.Part(name="guitar", takes=(r.Take(number=1, bars="1-16", session="day one"),)),
            r.Part(name="high", takes=(r.Take(number=1, session="day one"),)),
        ),
        files=(
            r.AudioFile(path="mixes/album_mix.wav", digest="aa"),
            r.AudioFile(path="mixes/last.wav", digest="bb"),
        ),
    )
    radio = r.Version(
        name="radio",
        parts=(
            r.Part(
                name="guitar",
                takes=(r.Take(number=1, session="day one"),),
                comps=(r.Comp(pieces=PIECES),),
            ),
            r.Part(name="second", takes=(r.Take(number=3, session="day one"),)),
        ),
    )
    with store.change("load") as change:
        put_log(
            change,
            r.Log(
                sessions=(r.Session(name="day one"), r.Session(name="day two")),
                songs=(r.Song(title="Salt Road", versions=(album, radio)),),
            ),
        )
    return store


def whole(store: Store) -> r.Log:
    with store.reading() as connection:
        return read_log(connection)


def words(store: Store, version: int = 1, part: int = 0) -> list[str]:
    read = whole(store).songs[0].versions[version].parts[part]
    return [
        f"{e.take}/{e.session} {e.from_version}/{e.from_part} {e.from_file}".strip()
        for e in read.comps[0].pieces
    ]


def row(change: Change, kind: str, where: str) -> FoundRow:
    statement = text(f"SELECT id FROM {kind} WHERE {where}")
    found = change.connection.scalar(statement)
    return FoundRow(kind, found, "", 0)


def in_version(name: str) -> str:
    return f"version_id = (SELECT id FROM version WHERE name = '{name}')"


BEFORE = [
    "1/ /", "1/ album/", "1/day one Album/high", "0/ album/ mix", "0/ album/ last.wav",
    "3/ /second", "7/ album/",
]  # fmt: skip


@pytest.mark.parametrize(
    ("kind", "where", "fields", "after"),
    [
        (
            "version", "name = 'album'", {"name": "long play"},
            ["1/ /", "1/ long play/", "1/day one long play/high", "0/ long play/ mix",
             "0/ long play/ last.wav", "3/ /second", "7/ album/"],
        ),
        (
            "part", f"name = 'high' AND {in_version('album')}", {"name": "top"},
            [*BEFORE[:2], "1/day one Album/top", *BEFORE[3:]],
        ),
        # A part of the same name goes without saying, until one of the two is called otherwise.
        (
            "part", f"name = 'guitar' AND {in_version('album')}", {"name": "cedar"},
            [BEFORE[0], "1/ album/cedar", *BEFORE[2:]],
        ),
        (
            "part", f"name = 'guitar' AND {in_version('radio')}", {"name": "cedar"},
            [BEFORE[0], "1/ album/guitar", *BEFORE[2:]],
        ),
        ("part", "name = 'second'", {"name": "low"}, [*BEFORE[:5], "3/ /low", BEFORE[6]]),
        (
            "audio_file", "path = 'mixes/last.wav'", {"path": "mixes/final.wav"},
            [*BEFORE[:4], "0/ album/ final.wav", *BEFORE[5:]],
        ),
        # The word mix no longer tells it from the other.
        (
            "audio_file", "path = 'mixes/album_mix.wav'", {"path": "mixes/b.wav"},
            [*BEFORE[:3], "0/ album/ b.wav", *BEFORE[4:]],
        ),
        (
            "take", "number = 3", {"number": 8},
            [*BEFORE[:5], "8/ /second", BEFORE[6]],
        ),
    ],
)  # fmt: skip
def test_pieces_follow_what_gets_another_name(
    log: Store, kind: str, where: str, fields: dict[str, object], after: list[str]
) -> None:
    assert words(log) == BEFORE
    with log.change("rename") as change:
        edit(change, row(change, kind, where), fields)
    assert words(log) == after
    undo(log)
    assert words(log) == BEFORE


def test_pieces_follow_a_take_that_is_moved(log: Store) -> None:
    with log.change("move") as change:
        second = row(change, "take", "number = 3")
        move_take(change, second, LogPlace("Salt Road", "album", "high"), "day two")
    assert words(log)[5] == "3/ album/high"


def test_a_second_take_of_the_number_pins_the_session(log: Store) -> None:
    with log.change("take") as change:
        put(change, r.Take(number=1, session="day two"), LogPlace("Salt Road", "album", "guitar"))
    assert words(log)[1] == "1/day one album/"


def test_a_second_mix_pins_the_first(log: Store) -> None:
    with log.change("file") as change:
        place = LogPlace("Salt Road", "album")
        put(change, r.AudioFile(path="mixes/new_mix.wav", digest="cc"), place)
    assert words(log)[3] == "0/ album/ album_mix.wav"


@pytest.mark.parametrize(
    ("kind", "where", "said"),
    [
        ("version", "name = 'album'", "bars 3-4 of comp of guitar, radio, bars 5-6 of comp"),
        ("part", f"name = 'guitar' AND {in_version('album')}", "by bars 3-4 of comp of guitar"),
        ("part", "name = 'second'", "is used by bars 11-12 of comp of guitar, radio"),
        ("take", "number = 3", "is used by bars 11-12 of comp of guitar, radio"),
        ("audio_file", "path = 'mixes/last.wav'", "is used by bars 9-10 of comp of guitar, radio"),
    ],
)
def test_what_a_piece_draws_on_is_not_removed(log: Store, kind: str, where: str, said: str) -> None:
    def attempt() -> None:
        with log.change("remove") as change:
            found = row(change, kind, where)
            assert hanging(change, found).uses["comp_piece"] > 0
            remove(change, found, confirmed=True)

    with pytest.raises(HangsOnError, match=said) as caught:
        attempt()
    assert caught.value.uses["comp_piece"]
    assert words(log) == BEFORE


def test_it_goes_once_the_comp_says_something_else(log: Store) -> None:
    with log.change("remove") as change:
        comp = row(change, "comp", "name = 'comp'")
        edit(change, comp, {"pieces": PIECES[:1]})
        remove(change, row(change, "version", "name = 'album'"), confirmed=True)
    assert words(log, version=0) == ["1/ /"]


def test_the_version_of_the_comp_goes_with_all_that_is_its_own(log: Store) -> None:
    with log.change("remove") as change:
        remove(change, row(change, "version", "name = 'radio'"), confirmed=True)
    assert [each.name for each in whole(log).songs[0].versions] == ["album"]


def test_undo_does_not_take_away_what_a_comp_has_come_to_draw_on(log: Store) -> None:
    live = r.Version(name="live", parts=(r.Part(name="guitar", takes=(r.Take(number=4),)),))
    with log.change("new") as change:
        put(change, live, LogPlace("Salt Road"))
    with log.change("comp") as change:
        found = row(change, "comp", "name = 'comp'")
        edit(change, found, {"pieces": (piece("1-2", 4, from_version="live"),)})
    with pytest.raises(HangsOnError, match="is used by bars 1-2 of comp of guitar, radio"):
        undo_command(log, 2)
    assert words(log) == ["4/ live/"]


def test_a_form_edited_in_the_log_moves_the_bars_taken_from_it(log: Store) -> None:
    place = LogPlace("Salt Road", "album")
    form = (r.FormSection(name="A", start=1, bars=2), r.FormSection(name="B", start=3, bars=14))
    with log.change("form") as change:
        edit(change, row(change, "version", "name = 'album'"), {"form": form})
    with log.change("insert") as change:
        old = whole(log).songs[0].versions[0]
        told = carry_form(change, place, old, delete_bars(old, 1, 4))
    assert any("bars 3-4 of album, which stand at 3-4, are no longer" in each for each in told)
    pieces = whole(log).songs[0].versions[1].parts[0].comps[0].pieces
    assert [(e.bars, e.source) for e in pieces] == [
        ("1-2", "1-2"), ("5-6", "1-2"), ("7-8", "3-4"), ("9-10", "5-6"), ("11-12", "11-12"),
        ("13-14", "9-10"),
    ]  # fmt: skip
    undo(log)
    assert words(log) == BEFORE
