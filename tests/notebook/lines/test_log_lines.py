"""Notebook lines put into a log: whole days, undo, remarks, and what is never lost."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from logbook.notebook.lines.log_lines import LineAnswer, Notebook, apply_lines
from logbook.records import Log, Lyric
from logbook.store.lifecycle import open_log
from logbook.store.reading import read_log, read_rows
from logbook.store.undoing import undo
from tests.notebook.lines.days import SALTPAN, WEIR

TODAY = "2026-11-25"


def log_of(db: str) -> Log:
    with open_log(db) as store, store.reading() as connection:
        return read_log(connection)


def write(db: str, text: str) -> list[LineAnswer]:
    with open_log(db) as store:
        return list(apply_lines(store, text.splitlines(), today=TODAY))


def test_the_day_reads_as_it_stands(fresh: Callable[[], str]) -> None:
    db = fresh()
    answers = write(db, SALTPAN)
    assert all(each.read for each in answers), [each for each in answers if not each.read]
    (song,) = log_of(db).songs
    (version,) = song.versions
    guitar, high = version.parts
    assert song.title == "Saltpan Road"
    assert [(each.name, each.start, each.bars) for each in version.form] == [
        ("A", 1, 8), ("B", 9, 8), ("A", 17, 8), ("B", 25, 8),
    ]  # fmt: skip
    assert [(each.bpm, each.unit) for each in version.tempos] == [(96.0, "1/4")]
    assert (guitar.instrument, guitar.player, guitar.counted) == ("the cedar one", "Oda", "nut")
    assert [(e.label, e.frets) for e in guitar.voicings] == [
        ("Bm7", "x 2 4 2 3 2"), ("Gmaj7", "3 x 4 4 3 x"), ("Em9", "0 x 5 7 7 x"),
    ]  # fmt: skip
    line = ["Bm7", "Gmaj7"] * 4
    other = [(0, "Em9"), (2, "Gmaj7"), (3, "Bm7"), (4, "Em9"), (6, "Gmaj7"), (7, "Bm7")]
    wanted = [(n + start, chord) for start in (1, 17) for n, chord in enumerate(line)]
    wanted += [(n + start, chord) for start in (9, 25) for n, chord in other]
    assert [(e.bar, e.voicing) for e in guitar.chart] == sorted(wanted)
    assert [(e.bar, e.pattern) for e in guitar.chart if e.pattern] == [(1, "strum"), (17, "strum")]
    assert [(e.grid, e.line) for e in guitar.patterns] == [("1/8", "D.x. Duxu")]
    first, second = guitar.takes
    assert (first.number, first.result) == (1, "false start")
    assert (second.result, second.bars, second.notes) == ("keeper", "1-32", "first full pass")
    assert [(e.bars, e.why) for e in second.punch_ins] == [("12", "late on the change")]
    (comp,) = guitar.comps
    assert comp.final
    assert [(e.bars, e.take, e.source or e.bars) for e in comp.pieces] == [
        ("1-8", 2, "1-8"), ("9-16", 2, "9-16"), ("17-24", 2, "1-8"), ("25-32", 2, "9-16"),
    ]  # fmt: skip
    assert (guitar.doubled, guitar.doubled_why) == ("not doubled", "low strings blur")
    assert (high.name, high.instrument) == ("high", "the small one")
    assert {e.label for e in high.voicings} == {"Bm7", "Gmaj7", "Em9"}
    assert [(e.bar, e.voicing) for e in high.chart] == sorted(
        [(1, ""), (17, "")] + [(n + start, chord) for start in (9, 25) for n, chord in other]
    )
    assert [(e.number, e.result, e.bars) for e in high.takes] == [(1, "keeper", "9-16")]
    made = [each for answer in answers for each in answer.made]
    assert "person Oda" in made
    assert any("the cedar one" in each for each in made)


def test_another_day_in_the_same_words(fresh: Callable[[], str]) -> None:
    db = fresh()
    answers = write(db, WEIR)
    assert all(each.read for each in answers), [each for each in answers if not each.read]
    log = log_of(db)
    (song,) = log.songs
    (version,) = song.versions
    mandolin, bass = version.parts
    assert (version.name, version.key, version.pickup_beats) == ("acoustic", "Eb", "3")
    assert [each.meter for each in version.meters] == ["6/8"]
    assert mandolin.instrument == "the old flat-top mandolin"
    assert mandolin.player == "Ívar Sæther"
    assert bass.instrument == "bass"
    assert [each.frets for each in mandolin.voicings] == ["0 1 3 3", "1 1 3 4", "3 1 1 3"]
    assert {each.session for each in mandolin.takes} == {"Weir House"}
    assert [each.result for each in mandolin.takes] == ["incomplete", "complete", "keeper"]
    assert [(e.name, e.date, e.place) for e in log.sessions] == [
        ("Weir House", "2026-06-14", "the boiler room")
    ]
    verse = next(each for each in version.form if each.name == "verse")
    assert version.lyrics == (Lyric(bar=verse.start, text="lamps go out along the quay"),)


def test_a_chord_is_answered_with_what_sounds(fresh: Callable[[], str]) -> None:
    answers = write(fresh(), "song One\ncapo 1\nFmaj7 x87900\nfrets from capo\nBm7 x24232")
    assert answers[2].sounds.startswith("F A E C F: Fmaj7")
    assert "shape name, not the concert name" in answers[4].contradictions[0]


def test_each_line_is_one_undo(fresh: Callable[[], str]) -> None:
    db = fresh()
    logs = []
    lines = [*SALTPAN.splitlines(), "no such line as this", "capo 2", "form B 8 bars, A 8 bars"]
    with open_log(db) as store:
        notebook = Notebook(store, today=TODAY)
        for line in lines:
            with store.reading() as connection:
                logs.append(read_log(connection))
            notebook.write(line)
        for before in reversed(logs):
            undo(store)
            with store.reading() as connection:
                assert read_log(connection) == before


def test_what_cannot_be_read_stays_as_a_remark(fresh: Callable[[], str]) -> None:
    db = fresh()
    answers = write(db, "song One\nwibble wobble\nt4 punch 9 late\npart guitar\nBm7 x2423")
    assert [each.read for each in answers] == [True, False, False, True, False]
    remarks = log_of(db).remarks
    assert [(each.name, each.text) for each in remarks] == [
        ("1", "wibble wobble"), ("2", "t4 punch 9 late"), ("3", "Bm7 x2423"),
    ]  # fmt: skip
    assert all(each.why and not each.settled for each in remarks)
    assert "no take 4" in remarks[1].why


def test_a_day_of_its_own_begins_a_session(fresh: Callable[[], str]) -> None:
    db = fresh()
    write(db, "session Loft, 2026-05-02\nsong One\nt1 keeper")
    with open_log(db) as store:
        (answer,) = apply_lines(store, ["t1 complete"], today=TODAY)
        assert "Loft was on 2026-05-02" in answer.contradictions[0]
        with store.reading() as connection:
            sessions = [row.record for row in read_rows(connection, "session")]
        assert [(e.name, e.date) for e in sessions] == [("Loft", "2026-05-02"), (TODAY, TODAY)]
        (again,) = apply_lines(store, ["t2 complete"], today=TODAY)
        assert not again.contradictions


@pytest.mark.parametrize(
    ("line", "against"),
    [
        ("t2 keeper 1-40", "the form ends at bar 16"),
        ("comp t9 1-8", "no take 9"),
        ("A: Am F", "the last 6 are not charted yet"),
        ("A: Am C/E", "no frets yet for Am, C/E"),
        ("t1 punch 30", "covers bars 1-16, not 30"),
        ("t3 keeper 1-16", "already have a keeper: take 1"),
        ("comp second t1 1-16", "comp is still the final one"),
        ("comp t1 1-8, t1 9-24", "covers bars 1-16, not 9-24"),
    ],
)
def test_contradictions_are_told_at_once(fresh: Callable[[], str], line: str, against: str) -> None:
    before = "song One\nA 8 bars, B 8 bars\nt1 keeper 1-16\ncomp t1 1-16\n"
    answers = write(fresh(), before + line)
    assert answers[-1].read
    assert any(against in each for each in answers[-1].contradictions), answers[-1]


def test_a_second_comp_is_not_the_final_one_unasked(fresh: Callable[[], str]) -> None:
    db = fresh()
    write(db, "song One\nA 8 bars\nt1 keeper 1-8\nt2 keeper 1-8\ncomp t1 1-8\ncomp rough t2 1-8")
    (part,) = log_of(db).songs[0].versions[0].parts
    assert [(each.name, each.final) for each in part.comps] == [("comp", True), ("rough", False)]


def test_sections_named_again_are_charted_alike(fresh: Callable[[], str]) -> None:
    db = fresh()
    write(db, "song One\nA 2 bars, B 2 bars\nA: Am F\nB: C G\nform A, B, A, B, C 2 bars")
    (part,) = log_of(db).songs[0].versions[0].parts
    assert [(e.bar, e.voicing) for e in part.chart] == [
        (n + start, chord)
        for start, line in ((1, ("Am", "F")), (3, ("C", "G")), (5, ("Am", "F")), (7, ("C", "G")))
        for n, chord in enumerate(line)
    ]


def test_retyping_a_section_replaces_it_and_one_may_differ(fresh: Callable[[], str]) -> None:
    db = fresh()
    write(db, "song One\nA 2 bars, A\nA: Am F\nA: C G\nA2: Dm Em")
    (part,) = log_of(db).songs[0].versions[0].parts
    assert [e.voicing for e in part.chart] == ["C", "G", "Dm", "Em"]


def test_frets_counted_the_other_way_leave_what_was_written(fresh: Callable[[], str]) -> None:
    db = fresh()
    write(db, "song One\ncapo 2\nfrets from capo\nD x00232\nfrets from nut\nE x02120")
    (part,) = log_of(db).songs[0].versions[0].parts
    assert part.counted == "nut"
    assert [(e.label, e.counted) for e in part.voicings] == [("D", "capo")]


def test_a_version_that_was_made_gets_its_name(fresh: Callable[[], str]) -> None:
    db = fresh()
    write(db, "song One\nversion live\nt1 keeper\nversion radio")
    assert [each.name for each in log_of(db).songs[0].versions] == ["live", "radio"]


def test_a_retyped_part_goes_back_to_it(fresh: Callable[[], str]) -> None:
    db = fresh()
    write(
        db, "song One\npart guitar\nt1 keeper\npart voice, Oda\nt1 reject\npart guitar\nt2 reject"
    )
    parts = log_of(db).songs[0].versions[0].parts
    assert [len(each.takes) for each in parts] == [2, 1]


def test_a_double_may_be_named_before_it_is_logged(fresh: Callable[[], str]) -> None:
    db = fresh()
    answers = write(
        db, "song One\npart guitar\ndoubled by second guitar\nt1 keeper\ndoubled by gitar"
    )
    assert answers[2].made == ("part second guitar",)
    assert not answers[4].read, "a slip is no new part"
    guitar, second = log_of(db).songs[0].versions[0].parts
    assert (guitar.doubled, [each.part for each in guitar.doubles]) == ("doubled", [second.name])
    assert len(guitar.takes) == 1


def test_a_tuning_is_that_of_the_instrument(fresh: Callable[[], str]) -> None:
    db = fresh()
    write(db, "song One\npart bass, Tor\ndrop D\npart guitar\ndrop D")
    parts = log_of(db).songs[0].versions[0].parts
    assert [each.tuning for each in parts] == ["bass drop D", "drop D"]


def test_a_take_just_logged_is_spoken_of_without_its_number(fresh: Callable[[], str]) -> None:
    db = fresh()
    answers = write(
        db,
        "song One\nA 8 bars, B 8 bars, A, B\npunch 4 too soon\nk 1-32\npunch 12 late\n"
        "t1 B a bit rushed\nlast take complete",
    )
    assert [each.read for each in answers] == [True, True, False, True, True, True, True]
    assert "no take yet" in answers[2].why
    (take,) = log_of(db).songs[0].versions[0].parts[0].takes
    assert (take.result, take.bars, take.notes) == ("complete", "1-32", "B: a bit rushed")
    assert [(each.bars, each.why) for each in take.punch_ins] == [("12", "late")]
    (shorter,) = write(db, "t1 keeper 1-16")
    assert "was bars 1-32" in shorter.understood
    # Of two sections of the name one stretch is meant; what was taken is told, and the other.
    (first,) = write(db, "t2 keeper B")
    assert "bars 9-16" in first.understood
    (told,) = first.contradictions
    assert "B comes twice" in told
    assert "B2 is 25-32" in told
    assert "9-32" in told


def test_undo_is_a_line_too(fresh: Callable[[], str]) -> None:
    db = fresh()
    first, nothing_left = write(db, "undo\nundo")
    assert "nothing was taken back" in first.understood
    assert nothing_left.read
    *_, undone = write(db, "song One\nk 1-8\nk 1-16\nScratch that.")
    assert undone.understood == "took back: note k 1-16"
    (take,) = log_of(db).songs[0].versions[0].parts[0].takes
    assert take.bars == "1-8"
