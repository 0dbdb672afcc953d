"""Words in an arrangement: they go with their bars, into charts, MusicXML and MIDI."""

from __future__ import annotations

import io

import mido

from logbook.arranging.arrange import ArrangedVersion, arrange
from logbook.arranging.midi import midi_bytes
from logbook.arranging.musicxml import musicxml_text, musicxml_tree
from logbook.notebook.read import read_log
from logbook.records import ArrangedSection, Arrangement, Log, Lyric
from logbook.sheets.catalog import draw_sheet, make_sheet
from logbook.sheets.looks import Look, Wanted
from tests.musicxml_schema import assert_valid

SONG = """
people = ["Ada"]
[[song]]
title = "Low Water"
[[song.version]]
name = "album"
key = "G"
meter = "4/4"
tempo = "96"
pickup = "1"
form = ["intro 2 bars", "verse 4 bars", "chorus 2 bars", "verse 4 bars", "chorus 2 bars"]
lyrics = [
  "0: The",
  "verse: lamps go out",
  "verse.3: along the quay",
  "5.3: and no one",
  "chorus: low water",
  "verse 2: ropes lie coiled",
  "chorus 2: low water",
]
[[song.version.part]]
name = "guitar"
tuning = "standard"
chart = ["intro: G | C", "verse: G | C | G | D", "chorus: C | G"]
voicings = { G = "3 2 0 0 0 3", C = "x 3 2 0 1 0", D = "x x 0 2 3 2" }
[[song.version.part]]
name = "lead vocal"
"""


def recorded() -> Log:
    return read_log(SONG)


def arranged(*sections: ArrangedSection) -> ArrangedVersion:
    log = recorded()
    song = log.songs[0]
    return arrange(log, song, song.versions[0], Arrangement(name="pub", sections=sections))


def test_words_are_read_by_bar_and_by_section() -> None:
    (version,) = recorded().songs[0].versions
    places = [(each.bar, each.beat, each.text) for each in version.lyrics]
    assert places == [
        (0, "1", "The"),
        (3, "1", "lamps go out"),
        (5, "1", "along the quay"),
        (5, "3", "and no one"),
        (7, "1", "low water"),
        (9, "1", "ropes lie coiled"),
        (13, "1", "low water"),
    ]


def test_moved_sections_carry_their_words() -> None:
    found = arranged(ArrangedSection(name="chorus", times=2), ArrangedSection(name="verse"))
    assert found.version.lyrics == (
        Lyric(bar=1, text="low water"),
        Lyric(bar=3, text="low water"),
        Lyric(bar=5, text="lamps go out"),
        Lyric(bar=7, text="along the quay"),
        Lyric(bar=7, beat="3", text="and no one"),
    )


def test_words_beyond_a_shortened_bar_begin_with_the_next() -> None:
    found = arranged(
        ArrangedSection(name="verse", moves="bars 1-3, last bar 2 beats"),
        ArrangedSection(name="chorus"),
    )
    assert [(each.bar, each.text) for each in found.version.lyrics] == [
        (0, "The"),
        (1, "lamps go out"),
        (3, "along the quay"),
        (4, "and no one / low water"),
    ][1:]


def test_musicxml_has_them_in_the_sung_part_where_they_begin() -> None:
    root = musicxml_tree(arranged())
    assert_valid(musicxml_text(arranged()))
    guitar, vocal = root.findall("part")
    assert guitar.find(".//lyric") is None
    found = [
        (measure.get("number"), [note.findtext("lyric/text") for note in measure.findall("note")])
        for measure in vocal
        if measure.find(".//lyric") is not None
    ]
    assert found[0] == ("0", ["The"])
    assert ("5", ["along the quay", None, "and no one", None]) in found
    assert [bar for bar, _ in found] == ["0", "3", "5", "7", "9", "13"]


SUNG = """
[[song]]
title = "Quay Song"
[[song.version]]
name = "album"
key = "C"
meter = "4/4"
tempo = 90
form = ["verse 1-6"]
lyrics = ["1: Salt-pan road", "2.3: go home", "4: three words here", "5: not as many"]
[[song.version.part]]
name = "vocal"
melody = ["1: C4/4 D E/2~ | E/2 G4/4 A | B/1 | C4/4 D E F | G4/2 A | B/1"]
"""


def test_a_line_with_as_many_syllables_as_notes_has_one_to_a_note() -> None:
    log = read_log(SUNG)
    found = arrange(log, log.songs[0], log.songs[0].versions[0], Arrangement(name="as it was"))
    assert_valid(musicxml_text(found))
    (vocal,) = musicxml_tree(found).findall("part")
    under = [
        (note.findtext("lyric/syllabic"), note.findtext("lyric/text"))
        for note in vocal.iter("note")
        if note.find("lyric") is not None
    ]
    assert under == [
        ("begin", "Salt"),
        ("end", "pan"),
        ("single", "road"),
        ("single", "go home"),  # three notes to the next line: the third is not said
        ("single", "three words here"),
        ("single", "not"),
        ("single", "as"),
        ("single", "many"),
    ]
    ends = [note for note in vocal.iter("note") if note.find("lyric/end-line") is not None]
    assert len(ends) == 4


def test_midi_has_them_as_lyric_events_at_their_ticks() -> None:
    data = midi_bytes(arranged(), count_in_bars=0)
    file = mido.MidiFile(file=io.BytesIO(data), charset="utf-8")
    at, found = 0, {}
    for message in file.tracks[0]:
        at += message.time
        if message.type == "lyrics":
            found[message.text] = at / file.ticks_per_beat
    # A pick-up of one beat, then four quarters a bar: bar 3 begins on quarter 9.
    assert (found["The"], found["lamps go out"], found["and no one"]) == (0, 9, 19)


def test_a_chart_has_each_verse_below_the_other_and_a_chorus_once() -> None:
    longer = SONG.replace("chorus 2 b", "chorus 4 b").replace('C | G"]', 'C | G x2"]')
    log = read_log(longer)
    drawn = draw_sheet(make_sheet("player", log, Wanted("Low Water")), "text", Look())
    assert isinstance(drawn, str)
    lines = drawn.splitlines()
    verse = next(n for n, line in enumerate(lines) if "1. lamps go out" in line)
    below = "\n".join(lines[verse : verse + 4])
    assert below.index("along the quay") < below.index("2. ropes lie coiled")
    vocal = next(n for n, line in enumerate(lines) if line.startswith("LEAD VOCAL"))
    assert sum("low water" in line for line in lines[:vocal]) == 1
    # The singer's page has the guitar's chords over the same words.
    sung = lines[vocal:]
    at = next(n for n, line in enumerate(sung) if "1. lamps go out" in line)
    assert sung[at - 1].split() == ["3", "│", "G", "│", "C", "│", "G", "│", "D", "│"]
    assert any(line.strip() == "The" for line in lines)
    page = draw_sheet(make_sheet("player", log, Wanted("Low Water")), "html", Look())
    assert isinstance(page, str)
    engraved = page[page.index("<svg") : page.index('<div class="chart')]
    assert engraved.count('class="words"') == 6
    assert engraved.index(">1. lamps go out<") < engraved.index(">2. ropes lie coiled<")
