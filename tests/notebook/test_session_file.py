"""Session files are read as musicians write them, and every mistake is told at once."""

from __future__ import annotations

import re
from fractions import Fraction
from pathlib import Path

import pytest

from logbook import records as r
from logbook.notebook.problems import NotebookError
from logbook.notebook.read import read_log

DOCS = Path(__file__).parents[2] / "docs" / "session-file.md"

BASE = """\
people = ["Ada Fenrush", "Tobin Marsk"]
[[session]]
name = "day one"
[[song]]
title = "Low Water"
[[song.version]]
name = "album"
meter = "4/4"
form = ["intro 4 bars", "verse 8 bars", "intro 4 bars"]
[[song.version.part]]
name = "guitar"
"""


def the_part(text: str) -> r.Part:
    return read_log(BASE + text).songs[0].versions[0].parts[0]


def the_version(text: str) -> r.Version:
    lines = BASE.replace('meter = "4/4"\n', "").split("form =")[0]
    return read_log(lines + text).songs[0].versions[0]


def mistakes(text: str) -> tuple[str, ...]:
    with pytest.raises(NotebookError) as caught:
        read_log(text, file="session.toml")
    return caught.value.sentences


def documented() -> list[str]:
    return re.findall(r"```toml\n(.*?)```", DOCS.read_text(encoding="utf-8"), re.S)


def test_the_manuals_file_reads_as_it_says() -> None:
    log = read_log(documented()[0])
    (song,) = log.songs
    assert [share.share for share in song.shares] == [Fraction(1, 2)] * 2
    (version,) = song.versions
    assert [(each.name, each.start, each.bars) for each in version.form] == [
        ("intro", 1, 4),
        ("verse", 5, 8),
        ("chorus", 13, 8),
    ]
    (part,) = version.parts
    assert (part.capo, part.counted, part.doubled) == ("2", "capo", "not doubled")
    assert [take.result for take in part.takes] == ["false start", "complete", "keeper"]
    assert {take.session for take in part.takes} == {"day one"}
    assert part.takes[1].punch_ins == (r.PunchIn(bars="12", why="late on the change"),)
    assert part.comps[0].pieces[1] == r.CompPiece(
        bars="9-20", take=3, source="9-20", crossfade_ms=10.0
    )
    assert r.ChartEntry(bar=13, beat="1", voicing="G", pattern="roll") in part.chart
    assert part.chart[-1] == r.ChartEntry(bar=20, voicing="")
    assert log.tunings == (
        r.Tuning(name="standard", strings="E2 A2 D3 G3 B3 E4"),
        r.Tuning(name="DADGAD", strings="D2 A2 D3 G3 A3 D4"),
    )


@pytest.mark.parametrize("snippet", documented()[1:], ids=lambda text: text.split("\n")[0][:40])
def test_every_snippet_of_the_manual_is_right(snippet: str) -> None:
    head, _, rest = snippet.partition("\n")
    song = documented()[0].split("chart = [")[0]
    if head.startswith(("takes", "comp", "votes", "recall")):
        read_log(song + snippet.replace("day two", "day one"))
    elif "takes]" in head:
        days = '[[session]]\nname = "day two"\n'
        read_log(song.replace("[[song]]", f"{days}[[song]]", 1) + snippet)
    elif head.startswith("[[song.version.arrangement"):
        tail = '\n[[song]]\ntitle = "Slack Tide"\n[[song.version]]\nname = "album"\n'
        second = '[[song.version.part]]\nname = "second guitar"\n'
        form = song.replace("intro 4", 'tag 2 bars", "intro 4')
        read_log(form + second + snippet + tail)
    elif head.startswith("deliverables"):
        read_log(song.replace("[[song.version.part]]", f"{snippet}\n[[song.version.part]]", 1))
    elif head.startswith("[tunings]"):
        assert read_log(snippet).tunings[0].name == "low open C"
    else:
        assert rest
        read_log(song.replace('tuning = "DADGAD"', "").replace("capo = 2", "") + snippet)


@pytest.mark.parametrize(
    ("line", "expected"),
    [
        ('tempo = "96"', [r.TempoChange(bar=1, bpm=96.0)]),
        ("tempo = 92.5", [r.TempoChange(bar=1, bpm=92.5)]),
        ('tempo = "q.=60"', [r.TempoChange(bar=1, bpm=60.0, unit="3/8")]),
        (
            'tempo = ["q=96", "17.3 88"]',
            [
                r.TempoChange(bar=1, bpm=96.0, unit="1/4"),
                r.TempoChange(bar=17, beat="3", bpm=88.0),
            ],
        ),
        (
            'tempo = ["96", "33-36 q=96>84", "37-38 >60"]',
            [
                r.TempoChange(bar=1, bpm=96.0),
                r.TempoChange(bar=33, bpm=96.0, unit="1/4", ramp_bpm=84.0, ramp_end="37"),
                r.TempoChange(bar=37, bpm=84.0, unit="1/4", ramp_bpm=60.0, ramp_end="39"),
            ],
        ),
        (
            'tempo = [{ bar = 5, bpm = 100, unit = "q." }]',
            [r.TempoChange(bar=5, bpm=100.0, unit="3/8")],
        ),
    ],
)
def test_tempo_lines(line: str, expected: list[r.TempoChange]) -> None:
    assert list(the_version(line).tempos) == expected


def test_meter_form_and_pickup() -> None:
    version = the_version(
        'meter = ["6/8", "9 4/4"]\npickup = "3 e"\n'
        'form = ["intro 0-4", "verse 1 5-8", "chorus 4 bars", '
        '{ name = "out", start = 13, bars = 2 }]'
    )
    assert version.meters == (r.MeterChange(bar=1, meter="6/8"), r.MeterChange(bar=9, meter="4/4"))
    assert version.pickup_beats == "3"
    assert [(each.name, each.start, each.bars) for each in version.form] == [
        ("intro", 0, 5),
        ("verse 1", 5, 4),
        ("chorus", 9, 4),
        ("out", 13, 2),
    ]


@pytest.mark.parametrize(
    ("line", "take"),
    [
        ("1", r.Take(number=1)),
        ("2 k 1-32", r.Take(number=2, result="keeper", bars="1-32")),
        ("3 false start", r.Take(number=3, result="false start")),
        ("4 1-8", r.Take(number=4, bars="1-8")),
        (
            "5 complete 1-32; punch 12 pass 3 flat; punch 20-21; note so; so",
            r.Take(
                number=5,
                result="complete",
                bars="1-32",
                notes="so; so",
                punch_ins=(
                    r.PunchIn(bars="12", number=3, why="flat"),
                    r.PunchIn(bars="20-21"),
                ),
            ),
        ),
        (
            "6 keeper 1-4 note punch; drunk",
            r.Take(number=6, result="keeper", bars="1-4", notes="punch; drunk"),
        ),
        (
            "7; file a/b.wav",
            r.Take(number=7, files=(r.AudioFile(path="a/b.wav"),)),
        ),
    ],
)
def test_take_lines(line: str, take: r.Take) -> None:
    from dataclasses import replace

    (read,) = the_part(f"takes = ['{line}']").takes
    assert read == replace(take, session="day one")


def test_takes_by_session_and_by_tables() -> None:
    text = BASE.replace('[[session]]\nname = "day one"', 'sessions = ["day one", "day two"]')
    part = (
        read_log(
            text + '[song.version.part.takes]\n"day one" = ["1", "2"]\n"day two" = ["1 keeper"]\n'
            '[[song.version.part.take]]\nnumber = 2\nsession = "day two"\n'
        )
        .songs[0]
        .versions[0]
        .parts[0]
    )
    assert [(take.number, take.session) for take in part.takes] == [
        (1, "day one"),
        (2, "day one"),
        (1, "day two"),
        (2, "day two"),
    ]
    (problem,) = mistakes(text + 'takes = ["1 keeper"]')
    assert "several sessions" in problem


def test_small_lines_of_a_part() -> None:
    part = the_part(
        'technique_notes = ["5-8: let it ring", "light touch"]\n'
        'reused = ["1-4 again at 13-16"]\noverdubs = ["over voice: 5-8", "9-12"]\n'
        'doubles = ["voice: hard right"]\nheard = true\nwhy = "thin"\ndoubled = "yes"\n'
        '[[song.version.part]]\nname = "voice"\n'
    )
    assert part.technique_notes[0] == r.TechniqueNote(text="let it ring", bars="5-8")
    assert part.reused == (r.Reused(source="1-4", bars="13-16"),)
    assert part.overdubs == (r.Overdub(over="voice", bars="5-8"), r.Overdub(bars="9-12"))
    assert part.doubles == (r.Double(part="voice", pan="hard right"),)
    assert (part.heard, part.doubled, part.doubled_why) == (True, "doubled", "thin")


def test_names_may_be_cut_short_and_closest_ones_are_offered() -> None:
    assert the_part('player = "tob"').player == "Tobin Marsk"
    (problem,) = mistakes(BASE + 'player = "Ade Fen"')
    assert problem == (
        "session.toml, line 12: Low Water / album / guitar / player: "
        'no person is called "Ade Fen"; '
        'did you mean "Ada Fenrush"? to add it: logbook person add "Ade Fen"'
    )


def test_a_fret_behind_the_capo_is_refused_with_what_to_write() -> None:
    (problem,) = mistakes(
        BASE + 'tuning = "standard"\ncapo = 3\n[song.version.part.voicings]\nC = "x 3 2 0 1 0"\n'
    )
    assert "line 15" in problem
    assert "behind the capo at 3" in problem
    assert "counted from the capo" in problem


def test_all_mistakes_are_told_in_one_go_in_the_order_of_lines() -> None:
    told = mistakes(
        BASE
        + 'capoo = 2\ncapo = "high"\ncounted = "bridge"\n'
        + 'takes = ["1 rubbish", "2 keeper 9-4"]\nchart = ["vers: C"]\n'
        + '[[instrument]]\nscale = -3\n[[song]]\ntitle = "Low Water"\n'
    )
    lines = [int(re.search(r"line (\d+)", each).group(1)) for each in told]  # type: ignore[union-attr]
    assert lines == sorted(lines)
    said = "\n".join(told)
    for piece in (
        'a part has no "capoo"; did you mean capo',
        "is not a capo that can be read",
        "nut, capo",
        "not the result of a take",
        "ends before it has begun",
        'did you mean "verse"?',
        "name is missing",
        "out of range",
        'song "Low Water" is written twice',
    ):
        assert piece in said, piece


@pytest.mark.parametrize(
    ("text", "line", "says"),
    [
        ("a = \n", 1, "not TOML"),
        ('x = "y"\nx = "z"\n', 2, "not TOML"),
        ('people = ["A"]\n\n[[song]\n', 3, "not TOML"),
        ("song = 3\n", 1, '"3" is not a song'),
        ("[[song]]\n", 1, "title is missing"),
        ('[[song]]\ntitle = " "\n', 2, "the name is empty"),
        ('[[song]]\ntitle = ["a"]\n', 2, "is not text"),
        ("[[songs]]\ntitle = 'x'\nversion = 'y'\n", 3, "is not a version"),
        ("[nonsense]\n", 1, 'has no "nonsense"'),
        ('[[song]]\ntitle = "x\\u0000y"\n', 2, "cannot be stored"),
    ],
)
def test_a_mistake_names_its_line(text: str, line: int, says: str) -> None:
    told = mistakes(text)
    assert f"line {line}:" in told[0]
    assert says in told[0]


@pytest.mark.parametrize(
    "path",
    [
        "../x.wav",
        "/etc/passwd",
        "a/../../x",
        "C:\\x.wav",
        "..\\x.wav",
        "~/x.wav",
        "a/..",
        "\\\\host\\x",
    ],
)
def test_files_stay_in_the_session_folder(path: str) -> None:
    for line in (f"files = ['{path}']", f"files = [{{ path = '{path}', as_logged = true }}]"):
        (problem,) = mistakes(BASE + line)
        assert "session folder" in problem
    (problem,) = mistakes(BASE + f"takes = ['1; file {path}']")
    assert "session folder" in problem


def test_files_count_from_the_files_own_folder() -> None:
    log = read_log(BASE + "files = ['takes/./a.wav']", folder="/boathouse")
    (file,) = log.songs[0].versions[0].parts[0].files
    assert file == r.AudioFile(path="takes/a.wav", folder="/boathouse")


def test_a_comp_of_pieces_and_several_comps() -> None:
    part = the_part('comp = ["1-4 take 1", { bars = "5-8", take = 2, source = "1-4" }]')
    assert [(each.name, each.final, len(each.pieces)) for each in part.comps] == [("comp", True, 2)]
    part = the_part(
        '[[song.version.part.comp]]\nname = "first"\npieces = ["1-4 take 1"]\n'
        '[[song.version.part.comp]]\nname = "second"\nfinal = true\npieces = ["1-4 take 2"]\n'
    )
    assert [(each.name, each.final) for each in part.comps] == [("first", False), ("second", True)]


def test_words_as_logged_are_taken_word_for_word() -> None:
    part = the_part(
        'tuning = "standard"\ncapo = 3\n'
        '[song.version.part.voicings]\nC = { as_logged = true, frets = "x 3 2 0 1 0" }\n'
    )
    assert part.voicings[0].frets == "x 3 2 0 1 0"


def test_a_flood_of_mistakes_of_one_kind_is_told_by_its_first_and_its_count() -> None:
    takes = "".join(
        f'[[song.version.part.take]]\nnumber = {n}\nbars = "{n}-x"\n' for n in range(1, 301)
    )
    head = (
        '[[song]]\ntitle = "A"\n[[song.version]]\nname = "B"\n[[song.version.part]]\nname = "C"\n'
    )
    told = mistakes(head + takes + 'colour = "red"\n')
    assert len(told) == 5
    assert "line 9:" in told[0]
    assert told[3] == "and 297 more like it, the last in line 906"
    assert '"colour"' in told[4]
    few = "".join(
        f'[[song.version.part.take]]\nnumber = {n}\nbars = "{n}-x"\n' for n in range(1, 7)
    )
    assert len(mistakes(head + few)) == 6
