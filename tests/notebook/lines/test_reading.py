"""Each kind of line read, and printing and reading as each other's inverse."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from logbook.notebook.days import is_on, read_day
from logbook.notebook.lines import facts as f
from logbook.notebook.lines.reading import read_line
from logbook.notebook.lines.words import one_named
from tests.notebook.lines.days import OTHERS, SALTPAN, WEIR, at_work

HERE = at_work()


def read(line: str) -> f.Fact | None:
    return read_line(line, HERE).fact


@pytest.mark.parametrize("line", [*SALTPAN.splitlines(), *OTHERS[:-1]])
def test_every_line_reads_and_prints_back(line: str) -> None:
    understood = read_line(line, HERE)
    if line in ("3 bars pickup",):
        assert understood.fact is None
        return
    assert understood.fact is not None, understood
    again = read_line(str(understood.fact), HERE)
    assert again.fact == understood.fact, (str(understood.fact), again)


def take(number: int = 0, **said: object) -> f.TakeSaid:
    return f.TakeSaid(number=number, **said)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("line", "fact"),
    [
        ("t1 false start", take(1, result="false start")),
        (
            "t2 keeper 1-32 first full pass",
            take(2, result="keeper", bars="1-32", note="first full pass"),
        ),
        ("keeper t3 1-16", take(3, result="keeper", bars="1-16")),
        ("take 1-16 k", take(result="keeper", bars="1-16")),
        ("take k 1-16", take(result="keeper", bars="1-16")),
        ("take k B", take(result="keeper", bars="B")),
        ("take B k", take(result="keeper", bars="B")),
        ("t2 B2 keeper", take(2, result="keeper", bars="B2")),
        ("k", take(result="keeper")),
        (
            "Cm7 C3 G3 bb3 Eb4",
            f.VoicingsSaid(
                voicings=(f.VoicingSaid(label="Cm7", frets="", pitches="C3 G3 Bb3 Eb4"),)
            ),
        ),
        ("band k B", take(result="keeper", bars="B", band=True)),
        (
            "t2 keeper 1-16 --band nice",
            take(2, result="keeper", bars="1-16", note="nice", band=True),
        ),
        ("t3 nice one", take(3, note="nice one")),
        ("take one keeper", take(1, result="keeper")),
        ("f lost the count", take(result="false start", note="lost the count")),
        ("false start lost the count", take(result="false start", note="lost the count")),
        ("k the long ring", take(result="keeper", note="the long ring")),
        ("T3 K B2", take(3, result="keeper", bars="B2")),
        ("K 1-16", take(result="keeper", bars="1-16")),
        ("no double, low strings blur", f.DoubleSaid(state="not doubled", why="low strings blur")),
        ("new song Weir House", f.SongSaid(title="Weir House")),
        ("B Em9 . Gmaj7 Bm7", f.ChartSaid(place="B", bars=("Em9", ".", "Gmaj7", "Bm7"))),
        (
            "structure: A 8 bars, B 8 bars",
            f.FormSaid(
                sections=(f.SectionSaid(name="A", bars=8), f.SectionSaid(name="B", bars=8)),
            ),
        ),
        ("t3 a bit late", take(3, note="a bit late")),
        (
            "t2 punch 12 late on the change",
            take(2, punches=(f.PunchSaid(bars="12", why="late on the change"),)),
        ),
        (
            "t2 keeper 1-16 punch 9-10 late",
            take(2, result="keeper", bars="1-16", punches=(f.PunchSaid(bars="9-10", why="late"),)),
        ),
        ("q=96", f.TempoSaid(text="q=96")),
        ("♩ = 96", f.TempoSaid(text="q=96")),
        ("96 bpm", f.TempoSaid(text="96")),
        ("q=88 from B", f.TempoSaid(text="q=88", place="B")),
        ("6/8", f.MeterSaid(meter="6/8")),
        ("key Eb", f.VersionField(field="key", value="Eb")),
        ("in F# minor", f.VersionField(field="key", value="F#m")),
        ("pick-up of two eighths", f.VersionField(field="pickup", value="2 e")),
        ("drop D", f.Setting(field="tuning", value="drop D")),
        ("tuning dadgad", f.Setting(field="tuning", value="DADGAD")),
        ("tuning C2 G2 D3 G3 B3 E4", f.Setting(field="tuning", value="C2 G2 D3 G3 B3 E4")),
        ("capo at the 3rd fret", None),
        ("capo 3rd fret", f.Setting(field="capo", value="3")),
        ("frets counted from the capo", f.Setting(field="counted", value="capo")),
        ("neck pickup", f.Setting(field="chain", value="neck pickup")),
        (
            "not doubled: low strings blur",
            f.DoubleSaid(state="not doubled", why="low strings blur"),
        ),
        ("doubled by high", f.DoubleSaid(by="high")),
        (
            "B: Em9 . Gmaj7 Bm7 %4",
            f.ChartSaid(place="B", bars=("Em9", ".", "Gmaj7", "Bm7", "Em9", ".", "Gmaj7", "Bm7")),
        ),
        ("B: C F/A Gm7 %2", f.ChartSaid(place="B", bars=("C", "F/A", "Gm7", "F/A", "Gm7"))),
        ("A: Bm7 | Bm7 G | % |", f.ChartSaid(place="A", bars=("Bm7", "Bm7 G", "%"))),
        ("D.x. Duxu on A", f.PatternSaid(strokes="D.x. Duxu", at=("A",))),
        (
            "x87900 Fmaj7",
            f.VoicingsSaid(voicings=(f.VoicingSaid(label="Fmaj7", frets="x 8 7 9 0 0"),)),
        ),
        (
            "A 8 bars, B 8 bars, A, B",
            f.FormSaid(
                sections=(
                    f.SectionSaid(name="A", bars=8),
                    f.SectionSaid(name="B", bars=8),
                    f.SectionSaid(name="A"),
                    f.SectionSaid(name="B"),
                )
            ),
        ),
        (
            "comp t3 1-16 x2",
            f.CompSaid(pieces=(f.PieceSaid(take=3, source="1-16"),), times=2),
        ),
        (
            "comp t2 1-8, 9-16, t3 1-8 again at 17",
            f.CompSaid(
                pieces=(
                    f.PieceSaid(take=2, source="1-8"),
                    f.PieceSaid(take=2, source="9-16"),
                    f.PieceSaid(take=3, source="1-8", at="17"),
                )
            ),
        ),
        (
            "part high = guitar on the little one, B only",
            f.PartSaid(name="high", kind="guitar", instrument="the little one", only=("B",)),
        ),
        ("Oda guitar", f.PersonSaid(person="Oda", instrument="guitar")),
        ("engineer Mira Holt", f.PersonSaid(person="Mira Holt", role="engineer")),
        ("B: let it ring", f.NoteSaid(text="let it ring", about="bars", place="B")),
        ("melody B: E4/8 F# G", f.EntrySaid(noun="melody", text="B: E4/8 F#4 G4")),
        ("tacet in B, 33-40", f.EntrySaid(noun="tacet", text="B, 33-40")),
        ("vote B t3 good", f.EntrySaid(noun="vote", text="B t3 good")),
        ("hours Mira Holt 10-18", f.EntrySaid(noun="hours", text="Mira Holt 10-18")),
        ("lyric B: the tide", f.NoteSaid(text="the tide", about="words", place="B")),
    ],
)
def test_what_a_line_says(line: str, fact: f.Fact | None) -> None:
    assert read(line) == fact


@pytest.mark.parametrize(
    ("line", "why"),
    [
        ("wibble wobble", "no notebook line"),
        ("Bm7 x 2 4 2 3", "5 entries for 6 strings"),
        ("A: Bm7 Gmjx7 Em9", '"Gmjx7" is not a chord'),
        ("song", "has no name"),
        ("key H", "H"),
        ("A: Bm7 %3", "%3 repeats 3 bars"),
        ("part high, Q only", "no section is called Q"),
        ("D.x. Duxu on Q", "no section is called Q"),
        ("take maybe", "gives no result and no bars"),
        ("comp nothing", "names no take"),
    ],
)
def test_what_cannot_be_read_says_why(line: str, why: str) -> None:
    understood = read_line(line, HERE)
    assert understood.fact is None
    assert why in understood.why
    assert understood.remedy


def test_the_second_day_reads_too() -> None:
    first = read_line(WEIR.splitlines()[0], HERE).fact
    assert isinstance(first, f.SessionSaid)
    assert (first.name, first.date, first.place) == ("Weir House", "2026-06-14", "the boiler room")
    assert first.people == (f.PersonSaid(person="Mira Holt", role="engineer"),)


@given(st.text(max_size=60))
@settings(max_examples=150, deadline=None)
def test_any_text_is_answered(text: str) -> None:
    read_line(text, HERE)


# Printing and reading

SECTIONS = st.sampled_from(["A", "B", "A2", "B2"])
BARS = st.one_of(
    st.integers(1, 40).map(str),
    st.tuples(st.integers(1, 20), st.integers(1, 20)).map(lambda p: f"{p[0]}-{p[0] + p[1]}"),
)
PLACES = st.one_of(SECTIONS, BARS)
NOTES = st.sampled_from(["", "the long ring", "late on the change", "with the door open"])
CHORDS = st.sampled_from(["Bm7", "Gmaj7", "Em9", "F/A", "C#m7b5", "Db", "-", "."])
PUNCHES = st.builds(f.PunchSaid, bars=BARS, why=NOTES, number=st.sampled_from([0, 3]))
TAKES = st.builds(
    f.TakeSaid,
    number=st.integers(1, 99),
    result=st.sampled_from(["", "keeper", "complete", "incomplete", "false start", "reject"]),
    bars=st.one_of(st.just(""), PLACES),
    note=NOTES,
    punches=st.lists(PUNCHES, max_size=2).map(tuple),
    files=st.lists(st.sampled_from(["gtr_01.wav", "b/gtr 2.wav"]), max_size=1).map(tuple),
)
PIECES = st.builds(
    f.PieceSaid,
    take=st.integers(1, 20),
    source=PLACES,
    at=st.one_of(st.just(""), st.integers(1, 60).map(str)),
    crossfade_ms=st.sampled_from(["", "10", "12.5"]),
)
# Names that look like something else in the grammar, and names with its signs in them.
ODD_NAMES = st.sampled_from(
    ["radio", "day one", "album long", "take 2", "then", "mix", "1-8", 'the "dry" one', "a/b",
     "here, there", "mix of t2 1-8", "back\\slash", "x2", "at 17", "Nørre", "c"]
)  # fmt: skip
ELSEWHERE = st.builds(
    f.PieceSaid,
    take=st.integers(1, 20),
    source=BARS,
    at=st.one_of(st.just(""), st.integers(1, 60).map(str)),
    session=st.one_of(st.just(""), ODD_NAMES),
    version=st.one_of(st.just(""), ODD_NAMES),
    part=st.one_of(st.just(""), ODD_NAMES),
    crossfade_ms=st.sampled_from(["", "10"]),
)
FINISHED_FILES = st.builds(
    f.PieceSaid,
    take=st.just(0),
    source=BARS,
    at=st.one_of(st.just(""), st.integers(1, 60).map(str)),
    version=st.one_of(st.just(""), ODD_NAMES),
    part=st.one_of(st.just(""), ODD_NAMES),
    file=st.sampled_from(["mix", "master", "bounce", "last.wav", "mixes/t2 1-8.wav"]),
)
FRETS = st.lists(st.one_of(st.just("x"), st.integers(0, 14).map(str)), min_size=6, max_size=6).map(
    " ".join
)
VOICINGS = st.builds(
    f.VoicingSaid,
    label=st.sampled_from(["Bm7", "C#m7b5", "F/A", "Bm7 (high)", "G6/9"]),
    frets=FRETS,
    counted=st.sampled_from(["", "capo"]),
    avoid=st.sampled_from(["", "1", "1, 6"]),
)
FACTS = st.one_of(
    TAKES,
    st.builds(
        f.CompSaid,
        pieces=st.lists(st.one_of(PIECES, ELSEWHERE, FINISHED_FILES), min_size=1, max_size=4).map(
            tuple
        ),
        name=st.sampled_from(["", "rough"]),
        times=st.integers(1, 4),
    ),
    st.builds(f.VoicingsSaid, voicings=st.lists(VOICINGS, min_size=1, max_size=3).map(tuple)),
    st.builds(
        f.ChartSaid,
        place=SECTIONS,
        bars=st.lists(CHORDS, min_size=1, max_size=8).map(lambda c: ("Bm7", *c)),
    ),
    st.builds(
        f.TempoSaid,
        text=st.sampled_from(["q=96", "q.=58", "120"]),
        place=st.sampled_from(["", "B", "17"]),
    ).filter(lambda fact: "=" in fact.text or not fact.place),
    st.builds(
        f.MeterSaid,
        meter=st.sampled_from(["6/8", "3/4", "7/8"]),
        place=st.sampled_from(["", "B", "17"]),
    ),
    st.builds(
        f.FormSaid,
        sections=st.lists(
            st.builds(
                f.SectionSaid,
                name=st.sampled_from(["A", "B", "pre-chorus", "Coda"]),
                bars=st.integers(1, 32),
            ),
            min_size=1,
            max_size=4,
        ).map(tuple),
        whole=st.just(True),
    ),
    st.builds(f.DoubleSaid, state=st.sampled_from(["doubled", "not doubled"]), why=NOTES),
    st.builds(
        f.DoubleSaid,
        by=st.sampled_from(["high", "low guitar"]),
        pan=st.sampled_from(["", "hard right"]),
    ),
    st.builds(
        f.OverdubSaid, over=st.sampled_from(["", "high"]), bars=st.one_of(st.just(""), PLACES)
    ),
    st.builds(f.NoteSaid, text=st.just("let it ring"), about=st.just("bars"), place=PLACES),
    st.builds(
        f.PartSaid,
        name=st.sampled_from(["high", "low guitar", "Voz", "12-string"]),
        instrument=st.sampled_from(["", "the cedar one"]),
        player=st.sampled_from(["", "Oda", "José Núñez"]),
        only=st.sampled_from([(), ("B",), ("A", "B2")]),
        like=st.sampled_from(["", "*", "guitar"]),
        settings=st.sampled_from(
            [(), (f.Setting(field="capo", value="2"), f.Setting(field="pan", value="left"))]
        ),
    ),
)


@given(FACTS)
@settings(max_examples=200, deadline=None)
def test_printing_and_reading_are_inverse(fact: f.Fact) -> None:
    understood = read_line(str(fact), HERE)
    assert understood.fact == fact, (str(fact), understood)


# Words


@pytest.mark.parametrize(
    ("said", "day"),
    [
        ("today", "2026-11-25"),
        ("yesterday", "2026-11-24"),
        ("2026-05-02", "2026-05-02"),
        ("2 May", "2026-05-02"),
        ("May 2nd 2025", "2025-05-02"),
        ("30 December", "2025-12-30"),
        ("Monday", "2026-11-23"),
        ("31 February", None),
        ("the loft", None),
    ],
)
def test_days(said: str, day: str | None) -> None:
    assert read_day(said, "2026-11-25") == day


def test_names_are_known_by_any_word_of_theirs() -> None:
    known = ["the cedar one", "the small one", "Oda Brandvik"]
    assert one_named("cedar", known) == "the cedar one"
    assert one_named("the small one", known) == "the small one"
    assert one_named("oda", known) == "Oda Brandvik"
    assert one_named("the larch one", known) is None
    assert one_named("the one", known) is None


@pytest.mark.parametrize(
    ("date", "end", "on"),
    [
        ("", "", True),
        ("2026-11-25", "", True),
        ("2026-11-24", "", False),
        ("2026-11-24", "2026-11-25", True),
        ("2026-11", "", True),
        ("2025", "", False),
        ("2026-11-26", "", False),
    ],
)
def test_a_session_is_on_or_over(date: str, end: str, on: bool) -> None:
    assert is_on(date, end, "2026-11-25") is on


@pytest.mark.parametrize("line", ["t3 keeper 1-999999999", "t3 1-10000", "k 1-99999"])
def test_a_last_bar_that_is_too_high_is_told_and_never_kept_as_a_remark_of_the_take(
    line: str,
) -> None:
    understood = read_line(line, HERE)
    assert understood.fact is None
    assert understood.why.startswith("there is no bar")
