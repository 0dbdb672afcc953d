"""Each rule on a log that is right, and on the same log with one thing wrong.

The log is invented: one song of a folk duo, two guitars and a bass.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from typing import Any

import pytest

from logbook.checking import RULES, Problem, check_log, check_song
from logbook.records import (
    AudioFile,
    ChartEntry,
    Comp,
    CompPiece,
    Double,
    FormSection,
    HeardDouble,
    Instrument,
    Log,
    MeterChange,
    Overdub,
    Part,
    Person,
    Project,
    PunchIn,
    Reused,
    Role,
    Share,
    Song,
    Take,
    TempoChange,
    Track,
    Tuning,
    Version,
    Voicing,
)

# Sixteen bars of 4/4 at 120: two seconds a bar.
TAKE_2 = Take(number=2, result="complete", bars="1-16")
TAKE_5 = Take(number=5, result="keeper", bars="9-16")
GUITAR = Part(
    name="guitar",
    player="Ina",
    instrument="parlour guitar",
    tuning="standard",
    capo="2",
    counted="capo",
    shape_key="G",
    doubled="doubled",
    doubles=(Double(part="second guitar", pan="apart"),),
    voicings=(
        Voicing(label="A", frets="3 2 0 0 0 3", fingers="2 1 - - - 3"),
        Voicing(label="the turn", frets="x 0 2 0 1 0", name="Bm7"),
    ),
    chart=(ChartEntry(bar=1, voicing="A"), ChartEntry(bar=16, beat="4", voicing="the turn")),
    takes=(TAKE_2, TAKE_5),
    comps=(
        Comp(
            pieces=(
                CompPiece(bars="1-8", take=2, source="1-8"),
                CompPiece(bars="9-12", take=5, source="9-12"),
                CompPiece(bars="13-16", take=5, source="9-12"),
            )
        ),
    ),
    reused=(Reused(source="9-12", bars="13-16"),),
)
SECOND = Part(
    name="second guitar",
    player="Ina",
    instrument="parlour guitar",
    tuning="standard",
    takes=(Take(number=1, result="keeper", bars="1-16"),),
)
VERSION = Version(
    name="EP",
    key="A",
    sample_rate_hz=48000,
    meters=(MeterChange(bar=1, meter="4/4"),),
    tempos=(TempoChange(bar=1, bpm=120.0, unit="1/4"),),
    form=(
        FormSection(name="verse", start=1, bars=8),
        FormSection(name="chorus", start=9, bars=8),
    ),
    parts=(GUITAR, SECOND),
)
SONG = Song(
    title="Low Tide Ledger",
    shares=(Share(person="Ina", share=Fraction(1, 2)), Share(person="Tam", share=Fraction(1, 2))),
    versions=(VERSION,),
)
LOG = Log(
    people=(Person(name="Ina"), Person(name="Tam")),
    instruments=(Instrument(name="parlour guitar", kind="guitar", frets=19),),
    songs=(SONG,),
)


def found(song: Song, log: Log = LOG) -> list[Problem]:
    return list(check_song(replace(log, songs=(song,)), song))


def with_version(**changes: Any) -> Song:
    return replace(SONG, versions=(replace(VERSION, **changes),))


def with_guitar(**changes: Any) -> Song:
    return with_version(parts=(replace(GUITAR, **changes), SECOND))


def with_take_file(**changes: Any) -> Song:
    file = AudioFile(path="guitar_02.wav", rate_hz=48000, frames=48000 * 32, **changes)
    return with_guitar(takes=(replace(TAKE_2, files=(file,)), TAKE_5))


def only(problems: list[Problem]) -> Problem:
    assert len(problems) == 1, problems
    assert all(problems[0]), "every problem says where, what, why and how to mend it"
    return problems[0]


def test_a_log_that_is_right_has_no_problem() -> None:
    assert check_log(LOG) == ()
    assert found(with_take_file()) == []


def test_a_shape_name_written_as_concert_name_is_told_in_these_words() -> None:
    problem = only(
        found(with_guitar(voicings=(Voicing(label="G", frets="3 2 0 0 0 3"),), chart=()))
    )
    assert problem.rule == "chord name"
    assert "shape" in problem.what
    assert "A" in problem.mend
    assert "voicing G" in problem.where


@pytest.mark.parametrize(("label", "name"), [("Bm", ""), ("x", "Bm"), ("Amaj7", "F#dim")], ids=str)
def test_a_name_that_contradicts_the_notes(label: str, name: str) -> None:
    voicing = Voicing(label=label, name=name, frets="3 2 0 0 0 3")
    problem = only(found(with_guitar(voicings=(voicing,), chart=())))
    assert problem.rule == "chord name"


def test_the_reason_lists_all_that_is_not_in_a_name() -> None:
    voicing = Voicing(label="x", name="F#dim", frets="3 2 0 0 0 3")
    assert only(found(with_guitar(voicings=(voicing,), chart=()))).why.endswith("are not in it")


@pytest.mark.parametrize("frets", ["3 x 0 x x x", "3 2 0 2 0 3"])
def test_a_name_that_only_leaves_out_or_adds_is_no_contradiction(frets: str) -> None:
    voicing = Voicing(label="low", name="A", frets=frets)
    assert found(with_guitar(voicings=(voicing,), chart=())) == []


def test_a_fret_behind_the_capo_says_what_to_write_instead() -> None:
    voicings = (Voicing(label="A", frets="5 4 1 0 0 0", counted="nut"),)
    problem = only(found(with_guitar(voicings=voicings, chart=())))
    assert problem.rule == "frets"
    assert "behind the capo" in problem.what
    assert "3" in problem.mend


def test_a_fret_past_the_last_one() -> None:
    voicings = (Voicing(label="high", frets="x x x x 17 18"),)
    assert "past the last fret" in only(found(with_guitar(voicings=voicings, chart=()))).what


def test_a_capo_past_the_body_and_a_finger_on_an_open_string() -> None:
    assert only(found(with_guitar(capo="19", voicings=(), chart=(), shape_key=""))).rule == "capo"
    wrong = Voicing(label="A", frets="3 2 0 0 0 3", fingers="2 1 4 - - 3")
    assert only(found(with_guitar(voicings=(wrong,), chart=()))).rule == "fingers"


def test_shape_key_and_capo_that_miss_the_concert_key() -> None:
    problem = only(found(with_guitar(shape_key="C", voicings=(), chart=())))
    assert problem.rule == "key and capo"
    assert "D major" in problem.what
    assert "G major" in problem.mend
    assert "capo would be at 9" in problem.mend
    assert found(with_guitar(shape_key="Em", voicings=(), chart=())) == [], "the relative minor"


@pytest.mark.parametrize(
    ("tuning", "capo", "shape", "right"),
    [
        ("half step down", "", "Bb", True),
        ("half step down", "", "A", True),
        ("half step down", "3", "G", True),
        ("half step down", "2", "Em", True),
        ("half step down", "", "B", False),
        ("baritone B", "", "D", True),
        ("standard", "", "Bb", False),
        ("DADGAD", "", "Bb", False),
    ],
)
def test_shapes_of_a_tuning_that_is_lower_as_a_whole_may_be_said_as_in_the_usual_one(
    tuning: str, capo: str, shape: str, right: bool
) -> None:
    song = with_guitar(tuning=tuning, capo=capo, shape_key=shape, voicings=(), chart=())
    assert (found(song) == []) is right


@pytest.mark.parametrize(
    ("shape", "right"),
    [("G", True), ("G mixolydian", True), ("C", True), ("D", False), ("A mixolydian", False)],
)
def test_shape_keys_of_a_church_mode(shape: str, right: bool) -> None:
    """G mixolydian shapes with capo 2 sound in A mixolydian, which has the notes of D major."""
    song = with_version(key="A mixolydian")
    guitar = replace(song.versions[0].parts[0], shape_key=shape, voicings=(), chart=())
    parts = (guitar, *song.versions[0].parts[1:])
    song = replace(song, versions=(replace(song.versions[0], parts=parts), *song.versions[1:]))
    rules = [problem.rule for problem in found(song)]
    assert ("key and capo" in rules) is not right


def test_a_gap_and_an_overlap_in_the_comp() -> None:
    pieces = (
        CompPiece(bars="1-6", take=2, source="1-6"),
        CompPiece(bars="9-16", take=5, source="9-16"),
        CompPiece(bars="16", take=2, source="16"),
    )
    problems = found(with_guitar(comps=(Comp(pieces=pieces),), reused=()))
    assert [problem.rule for problem in problems] == ["comp gap", "comp overlap"]
    assert "7-8" in problems[0].what
    assert "16" in problems[1].what


def test_an_overdub_need_not_cover_what_it_was_not_played_on() -> None:
    comps = (Comp(pieces=(CompPiece(bars="9-16", take=5, source="9-16"),)),)
    song = with_guitar(comps=comps, reused=(), overdubs=(Overdub(bars="9-16"),))
    assert found(song) == []
    song = with_guitar(comps=comps, reused=(), overdubs=(Overdub(bars="5-8, 9-16"),))
    assert only(found(song)).rule == "comp gap"


@pytest.mark.parametrize(
    ("piece", "says"),
    [
        (CompPiece(bars="9-16", take=7, source="9-16"), "no take 7"),
        (CompPiece(bars="9-16", take=5, source="1-8"), "1-8 are not in take 5"),
        (CompPiece(bars="9-16", take=2, source="1-4"), "not as long"),
        (CompPiece(bars="9-16", take=6, source="9-16"), "rejected"),
    ],
    ids=lambda value: value if isinstance(value, str) else "",
)
def test_sources_that_cannot_be(piece: CompPiece, says: str) -> None:
    takes = (TAKE_2, TAKE_5, Take(number=6, result="reject", bars="1-16"))
    pieces = (CompPiece(bars="1-8", take=2, source="1-8"), piece)
    problem = only(found(with_guitar(takes=takes, comps=(Comp(pieces=pieces),), reused=())))
    assert says in problem.what


def test_one_bar_is_not_in_the_take() -> None:
    pieces = (
        CompPiece(bars="1-8", take=2, source="1-8"),
        CompPiece(bars="9", take=5, source="8"),
        CompPiece(bars="10-16", take=5, source="10-16"),
    )
    problems = found(with_guitar(comps=(Comp(pieces=pieces),), reused=()))
    assert only(problems).what == "bar 8 is not in take 5"


def test_remembered_reuse_that_the_comp_does_not_bear_out() -> None:
    problem = only(found(with_guitar(reused=(Reused(source="1-4", bars="13-16"),))))
    assert problem.rule == "reuse"
    assert "take 5, bars 9-12" in problem.what


def test_doubled_with_no_double_logged_and_the_reverse() -> None:
    assert only(found(with_guitar(doubles=()))).rule == "doubling"
    assert "not doubled" in only(found(with_guitar(doubled="not doubled"))).what
    assert "no such part" in only(found(with_guitar(doubles=(Double(part="ghost"),)))).what


def test_a_file_shorter_than_its_bars() -> None:
    assert found(with_take_file(container="wav")) == []
    short = AudioFile(path="guitar_02.wav", rate_hz=48000, frames=48000 * 31)
    song = with_guitar(takes=(replace(TAKE_2, files=(short,)), TAKE_5))
    problem = only(found(song))
    assert problem.rule == "file length"
    assert "31.00 s" in problem.what
    assert "32.00 s" in problem.what


def test_sample_rates_that_differ() -> None:
    other = AudioFile(path="guitar_05.wav", rate_hz=44100, frames=44100 * 16)
    song = with_guitar(takes=(TAKE_2, replace(TAKE_5, files=(other,))))
    assert only(found(song)).rule == "sample rate"
    assert only(found(replace(song, versions=(replace(song.versions[0], sample_rate_hz=96000),))))


def test_tags_that_contradict_the_log() -> None:
    assert found(with_take_file(tags=(("key", "A"), ("tempo", "120"), ("title", "take 2")))) == []
    assert "key" in only(found(with_take_file(tags=(("key", "G"),)))).what
    assert "tempo" in only(found(with_take_file(tags=(("tempo", "96"),)))).what


@pytest.mark.parametrize(
    ("tags", "what"),
    [
        ((("composer", "Somebody Else"),), "Somebody Else, who is not a writer"),
        ((("lyricist", "Tam; Cy Moor"),), "Cy Moor, who is not a writer"),
        ((("composer", "Tam Orr"), ("writer", "ORR, TAM / ina")), ""),
        ((("composer", "Ina Ock"),), ""),
        ((("title", "Another Tide (guitar, take 2)"),), "title is Another Tide (guitar, take 2)"),
        ((("title", "Reel 12 (second pass)"),), ""),
    ],
)
def test_tags_that_name_other_writers_or_another_song(
    tags: tuple[tuple[str, str], ...], what: str
) -> None:
    song = with_take_file(tags=tags)
    people = (Person(name="Ina", other_names=("Ina Ock",)), Person(name="Tam"))
    log = replace(LOG, people=people)
    problems = [each for each in found(song, log) if each.rule == "tags"]
    if what:
        assert what in only(problems).what
    else:
        assert problems == []


def test_a_chart_outside_the_form_or_the_bar() -> None:
    problem = only(found(with_guitar(chart=(ChartEntry(bar=17, voicing="A"),))))
    assert "outside the form" in problem.what
    problem = only(found(with_guitar(chart=(ChartEntry(bar=2, beat="5", voicing="A"),))))
    assert "no beat 5" in problem.what
    pickup = with_version(
        pickup_beats="1", parts=(replace(GUITAR, chart=(ChartEntry(bar=0, voicing="A"),)), SECOND)
    )
    assert [p for p in found(pickup) if p.rule == "chart"] == [], "a pick-up bar is bar 0"


@pytest.mark.parametrize("beat", ["", "half past", "1/0", "-1", "0", "nan", "9" * 5000])
def test_a_chart_beat_that_cannot_be_read_is_found_too(beat: str) -> None:
    problem = only(found(with_guitar(chart=(ChartEntry(bar=2, beat=beat, voicing="A"),))))
    assert "bar 2 has no beat" in problem.what


def test_sections_that_overlap() -> None:
    form = (
        FormSection(name="verse", start=1, bars=9),
        FormSection(name="chorus", start=9, bars=8),
    )
    problem = only(found(with_version(form=form)))
    assert problem.rule == "form"
    assert "bar 9" in problem.what


def test_shares_that_make_no_whole() -> None:
    song = replace(SONG, shares=(Share(person="Ina", share=Fraction(5, 12)),))
    problem = only(found(song))
    assert "7/12" in problem.what
    assert "lawyer" in problem.mend


def test_identifiers_that_cannot_be_right() -> None:
    assert only(found(with_version(isrc="nonsense"))).rule == "identifier"
    project = Project(
        title="EP", barcode="4006381333932", tracks=(Track(song=SONG.title, version="EP"),)
    )
    assert "EP" in only(found(SONG, replace(LOG, projects=(project,)))).where


def test_a_player_nobody_gave_a_role() -> None:
    unsure = replace(SECOND, name="bass", player="Tam", takes=(Take(number=1),))
    song = with_version(parts=(GUITAR, SECOND, unsure))
    problem = only(found(song))
    assert problem.kind == "missing"
    assert found(replace(song, roles=(Role(person="Tam", role="writer"),))) == []


@pytest.mark.parametrize(
    "changes",
    [
        {"capo": "on the second"},
        {"tuning": "no such tuning"},
        {"voicings": (Voicing(label="A", frets="3 2 zero"),)},
        {"takes": (Take(number=2, bars="nine"),)},
        {"comps": (Comp(pieces=(CompPiece(bars="9-1", take=2, source="1"),)),)},
        {"shape_key": "H"},
    ],
    ids=str,
)
def test_what_cannot_be_read_is_a_problem_and_never_a_crash(changes: dict[str, Any]) -> None:
    assert found(with_guitar(**changes))


def test_a_tuning_of_the_log_goes_before_the_usual_one() -> None:
    log = replace(LOG, tunings=(Tuning(name="standard", strings="Eb2 Ab2 Db3 Gb3 Bb3 Eb4"),))
    assert any(problem.rule in ("chord name", "capo") for problem in found(SONG, log))


def test_every_rule_says_what_it_yields() -> None:
    assert len(RULES) == len({rule.__name__ for rule in RULES})
    assert all(rule.__doc__ and rule.__doc__.startswith("Yield") for rule in RULES)


# What listening heard


def heard_log(kind: str, **second: Any) -> Log:
    """The same log with a file on each guitar and what listening heard between the two."""
    heard = HeardDouble(other="bb", kind=kind, offset_s=0.02, median_ms=9.0)
    first_file = AudioFile(path="a.wav", digest="aa", heard_doubles=(heard,))
    second_file = AudioFile(path="b.wav", digest="bb")
    result = second.pop("result", "keeper")
    guitar = replace(
        GUITAR,
        takes=(TAKE_2, replace(TAKE_5, files=(first_file,))),
        **second.pop("guitar", {}),
    )
    other = replace(
        SECOND,
        takes=(Take(number=1, result=result, bars="1-16", files=(second_file,)),),
        **second,
    )
    version = replace(VERSION, parts=(guitar, other))
    return Log(
        instruments=(
            Instrument(name="parlour guitar", kind="guitar"),
            Instrument(name="fretted bass", kind="bass"),
        ),
        songs=(Song(title="Low Tide Ledger", versions=(version,)),),
    )


def heard_problems(log: Log) -> list[tuple[str, str]]:
    return [(each.kind, each.what) for each in check_log(log) if each.rule == "heard doubles"]


NOT_LOGGED: dict[str, Any] = {"doubled": "not doubled", "doubles": ()}


def test_a_double_that_sounds_like_one_is_right() -> None:
    assert heard_problems(heard_log("second performance")) == []


@pytest.mark.parametrize("kind", ["identical", "delayed", "processed", "unrelated"])
def test_a_double_that_is_a_copy_or_something_else_contradicts(kind: str) -> None:
    ((found, what),) = heard_problems(heard_log(kind))
    assert found == "contradicts"
    assert "guitar and second guitar are logged as doubles" in what


def test_a_second_performance_that_is_not_logged() -> None:
    ((found, what),) = heard_problems(heard_log("second performance", guitar=NOT_LOGGED))
    assert found == "contradicts"
    assert what.endswith("half of its notes within 9 ms, and guitar is said to be not doubled")
    unsaid = {"doubled": "unknown", "doubles": ()}
    ((found, _),) = heard_problems(heard_log("second performance", guitar=unsaid))
    assert found == "missing"


@pytest.mark.parametrize(
    "second",
    [{"result": "reject"}, {"heard": False}, {"instrument": "fretted bass"}],
)
def test_what_may_well_be_played_in_time_and_is_no_double(second: dict[str, Any]) -> None:
    assert heard_problems(heard_log("second performance", guitar=NOT_LOGGED, **second)) == []


def test_a_crossfade_that_a_file_has_no_material_for() -> None:
    # Sixteen bars of 2 s; take 5 begins at bar 9 sharp, take 2 goes on for long enough.
    files = {2: 40, 5: 16}
    takes = tuple(
        replace(
            take,
            files=(
                AudioFile(
                    path=f"{take.number}.wav", rate_hz=48000, frames=48000 * files[take.number]
                ),
            ),
        )
        for take in (TAKE_2, TAKE_5)
    )
    pieces = (
        CompPiece(bars="1-8", take=2, source="1-8"),
        CompPiece(bars="9-16", take=5, source="9-16", crossfade_ms=30),
    )
    problem = only(found(with_guitar(takes=takes, comps=(Comp(pieces=pieces),), reused=())))
    assert problem.rule == "comp crossfade"
    assert problem.what == "take 5 lacks 15.0 of 15.0 ms ahead of its bars 9-16"
    none = tuple(replace(piece, crossfade_ms=None) for piece in pieces)
    assert not found(with_guitar(takes=takes, comps=(Comp(pieces=none),), reused=()))


# One cause, told once; takes against the form and against each other


def of(rule: str, log: Log) -> list[Problem]:
    return [each for each in check_log(log) if each.rule == rule]


def part_log(part: Part, form: tuple[FormSection, ...] = ()) -> Log:
    guitar = Instrument(name="six", kind="guitar", tuning="standard")
    version = Version(name="v", form=form, parts=(replace(part, instrument="six"),))
    standard = Tuning(name="standard", strings="E2 A2 D3 G3 B3 E4")
    return Log(
        tunings=(standard,), instruments=(guitar,), songs=(Song(title="S", versions=(version,)),)
    )


def test_a_capo_one_too_high_is_told_once() -> None:
    voicings = tuple(
        Voicing(label=label, frets=frets)
        for label, frets in (
            ("Db", "x 3 2 0 1 0"), ("Bbm", "x 0 2 2 1 0"), ("Ab", "3 2 0 0 0 3"),
            ("Ebm", "x x 0 2 3 1"), ("F7", "0 2 0 1 0 0"), ("Gb", "1 3 3 2 1 1"),
        )
    )  # fmt: skip
    part = Part(name="guitar", capo="2", counted="capo", voicings=voicings)
    (told,) = check_log(part_log(part))
    assert told.rule == "capo"
    assert "with capo 1 every name fits" in told.what
    assert not of("capo", part_log(replace(part, capo="1")))
    (alone,) = check_log(part_log(replace(part, voicings=voicings[:1])))
    assert alone.rule == "chord name"
    (bare,) = check_log(part_log(replace(part, capo="", voicings=voicings)))
    assert "with capo 1 every name fits" in bare.what


FORM = (FormSection(name="A", start=1, bars=8),)


@pytest.mark.parametrize(
    ("part", "what"),
    [
        (Part(name="g", takes=(Take(number=1, bars="1-9"),)), "bars 1-9 go on past bar 8"),
        (
            Part(name="g", takes=(Take(number=1, punch_ins=(PunchIn(bars="9"),)),)),
            "bars 9 go on past bar 8",
        ),
        (Part(name="g", overdubs=(Overdub(bars="1-4, 9"),)), "bars 9 go on past"),
    ],
)
def test_bars_past_the_form(part: Part, what: str) -> None:
    (told,) = of("bars past the form", part_log(part, FORM))
    assert what in told.what
    assert not of("bars past the form", part_log(part))


def test_two_keepers_of_one_stretch() -> None:
    one, two = (Take(number=n, result="keeper", bars=b) for n, b in ((1, "1-6"), (2, "5-8")))
    part = Part(name="g", takes=(one, two))
    (told,) = of("two keepers", part_log(part, FORM))
    assert "keepers of bars 5-6" in told.what
    apart = replace(part, takes=(one, replace(two, bars="7-8")))
    assert not of("two keepers", part_log(apart, FORM))
    settled = replace(part, comps=(Comp(pieces=(CompPiece(bars="1-8", take=1, source="1-8"),)),))
    assert not of("two keepers", part_log(settled, FORM))


def test_a_keeper_that_goes_unused() -> None:
    takes = (
        Take(number=1, result="complete", bars="1-8"),
        Take(number=2, result="keeper", bars="1-8"),
    )
    comp = Comp(pieces=(CompPiece(bars="1-8", take=1, source="1-8"),))
    (told,) = of("keeper unused", part_log(Part(name="g", takes=takes, comps=(comp,)), FORM))
    assert "take 1, which is complete, and take 2, a keeper" in told.what
    both = replace(comp, pieces=(replace(comp.pieces[0], bars="1-4", source="1-4"),
                                 CompPiece(bars="5-8", take=2, source="5-8")))  # fmt: skip
    assert not of("keeper unused", part_log(Part(name="g", takes=takes, comps=(both,)), FORM))
