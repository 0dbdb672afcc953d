# ruff: noqa: E501
"""Chord symbols as people write them: some four hundred spellings (common practice, no source)."""

from __future__ import annotations

import re

import pytest

from logbook.errors import LogbookError
from logbook.theory import ChordSymbolError, read_symbol
from logbook.theory.keys import parse_key
from logbook.theory.symbols import nearest_symbol, reads, split_symbols
from logbook.theory.written import in_letters

# What a chart may write, parted by bars, and what it says.
WRITTEN = {
    "Cmaj7": "C^7|C^|Cj7|C7maj|C7Maj|C7j|CΔ⁷|CM⁷|Cmaj⁷|C maj.7|Cmaj.7|C major seventh|C major 7th|"
             "C7ma|Ｃmaj７|C▵|Cj|Cᴹ⁷|C Major 7",
    "C7": "C⁷|C₇|Ｃ７|C seventh|C dominant 7|C dominant seventh|C dom7|C 7th|C{7}|C[7]|C7.|(C7)|[C7]",
    "Cm7": "Cm⁷|C₋⁷|C⁻⁷|Cᵐ⁷|Ｃｍ７|C min. 7|Cmin.7|C minor seventh|C minor 7th|cm7|cmin7|C‑7|(Cm7)",
    "Cm": "cm|cmin|C min.|C minor chord|Cm.|C minor triad",
    "C": "C major triad|C chord|C major chord|C maj.|Ｃ|(C)",
    "Cm7b5": "Cø|C∅|Cø⁷|C half dim|C half-dim|C half dim 7|Chalf dim7|C half diminished|"
             "C half diminished seventh|C half-diminished 7th|C half dim.|C m7 flat 5|Cm7♭５|"
             "Cm7 flat five|Cm7(flat 5)",
    "Cdim7": "C˚7|C°⁷|C diminished seventh|C diminished 7th|C dim. 7|Co7|Cº⁷",
    "Cdim": "C dim.|C diminished triad|Cdim.",
    "Caug": "C⁺|C aug.|C augmented triad|C＋",
    "C7#5": "C⁺⁷|C7aug|C7(aug5)|C7aug5|C augmented seventh|C7 sharp 5|C7 sharp five",
    "Csus4": "Csus⁴|C suspended|C suspended 4|C suspended fourth|C suspended 4th|Csus 4|C sus 4",
    "Csus2": "C suspended second|Csus 2|C suspended 2",
    "C7sus4": "C7 suspended|C7 suspended 4|C⁷sus⁴|C7 sus 4",
    "C5": "C power|C power chord|C⁵|C (no third)|C(no 3rd)",
    "Cadd9": "C add ninth|C add 9th|C add nine|Cadd.9|C/add9",
    "C69": "C⁶/⁹|C⁶⁄⁹|C⁶⁹|C six nine|C 6 9",
    "C7b9": "C7 flat 9|C7 flat nine|C7(flat 9)|C7 flat ninth|C7 (flat nine)|C⁷♭⁹",
    "C7#9": "C7 sharp 9|C7 sharp nine|C7(sharp 9)|C⁷♯⁹|C⁷⁽♯⁹⁾",
    "Cmaj7#11": "Cmaj7 sharp 11|C^7#11|Cj7#11|Cmaj7 (sharp eleven)|CΔ⁷♯¹¹|Cmaj7 sharp eleventh",
    "C13": "C¹³|C thirteenth|C dominant 13|C 13th",
    "C9": "C7,9|C⁹|C ninth|C dominant ninth|C 9th",
    "C11": "C¹¹|C eleventh",
    "Cmaj9": "C^9|Cj9|C9maj|C major ninth|CΔ⁹",
    "Cm9": "Cm⁹|C minor ninth|cm9|C₋⁹",
    "Cm(maj7)": "Cm^7|C-^7|C minor major 7|C minor-major 7|C min/maj 7|Cm (major 7)|C-Δ⁷|CmΔ⁷",
    "C6": "C⁶|C sixth|C major sixth|C major 6",
    "Cm6": "Cm⁶|C minor sixth|cm6",
    "C7alt": "C7 alt.|C⁷alt|C7alt.",
    "Cmaj7no3": "Cmaj7/no3|Cmaj7/omit3|Cmaj7 no third|Cmaj7 (no 3rd)",
    "C7no5": "C7/no5|C7 no fifth|C7/omit5",
    "N.C.": "(N.C.)|[N.C.]|tacet|Tacet|TACET|(tacet)|N. C.|no chord|n/c|tac.|(NC)|NC.",
    "Bb": "B flat|Bflat|b flat|B-flat|B♭ major|B flat major",
    "Bb7": "B flat 7|B flat seventh|B-flat 7|B♭⁷",
    "Ebm7": "E flat minor 7|Eb minor seventh|E-flat min7|ebm7",
    "F#m7b5": "F sharp half dim|F sharp minor 7 flat 5|F♯ø⁷|F-sharp half-diminished",
    "C#m": "C sharp minor|c#m|c♯m|C-sharp min",
    "Am": "am|a min|amin|ami|a minor|Ａｍ",
    "Bbm": "bbm|b♭m|B flat minor",
    "Bm7/A": "bm7/a|Bm7 on A|Bm7 over A|Bm⁷/A",
    "C/E": "C on E|C over E|C bass E|C with bass E|C, bass E|C/E bass|C:maj/3|C:/3|C:(3,5)/3",
    "C/Bb": "C / B flat|C/B flat|C on Bb|C over B♭|C:maj/b7",
    "Cadd9/E": "C/E add9|C/E(add9)|C/Eadd9|Cadd9 on E",
    "Am7add11/G": "Am7/G(add11)|Am7/G add11",
    # The short grammar of Harte et al. (2005).
    "Cm7/Eb": "C:min7/b3",
    "Cmaj7/B": "C:maj7/7",
    "C7/G": "C:7/5",
    "C7/Bb": "C:7/b7",
    "C/D": "C:maj/2|C:maj/9",
    "Cm/G": "C:min/5",
    "C9no3": "C:9(*3)",
    "Cm7no5": "C:min7(*5)",
    "C7#9no5": "C:7(*5,#9)",
    "Cm(maj9)": "C:minmaj7(9)",
}  # fmt: skip

REFUSED = {
    # text: the nearest symbol that reads
    "Csus#4": "Csus4", "Csusb2": "Csus2", "C7sus#4": "C7sus4", "Csus(#4)": "Csus4", "Csus♭2": "Csus2",
    "Do": "C", "Do7": "C7", "Dosus4": "Csus4", "Do#": "C#", "Dom7": "Cm7", "Re": "D", "Mi7": "E7", "Fa": "F", "Fa#m": "F#m",
    "Sol": "G", "Sol7": "G7", "La": "A", "Lam": "Am", "Si": "B", "Sib": "Bb", "Sib7": "Bb7",
    "H": "B", "H7": "B7", "Hm": "Bm", "Hm7b5": "Bm7b5", "C/H": "C/B", "Hmaj7": "Bmaj7",
    "C9/6": "C6/9", "C7/4": "C7sus4", "C7dim": "Cdim7", "C7°": "Cdim7", "C0": "Cdim", "C07": "Cdim7",
    "Calt7": "C7alt", "Cmj7": "Cmaj7", "C/3": "C/E", "C7/3": "C7/E", "c7": "C7", "cmaj7": "Cmaj7",
    "Cmaj7x": "Cmaj7", "C7(b9": "C7(b9)", "C/": "C", "Am7/G/E": "Am7/G", "C7b8": "C7b5",
    "Cadd5": "Cadd9", "Cm77": "Cm7", "Cm7)": "Cm7", "C7#13": "C7#9b13",
    "Cmajor7/": "Cmajor7", "Gsus5": "Gsus", "Ebmaj77": "Ebmaj7", "F#m7b55": "F#m7b5",
}  # fmt: skip


@pytest.mark.parametrize(
    ("written", "normal"),
    [(text, normal) for normal, all_ in WRITTEN.items() for text in all_.split("|")],
)
def test_a_chart_reads(written: str, normal: str) -> None:
    assert read_symbol(written).symbol == read_symbol(normal).symbol


ROOTS = ("C", "Db", "F#", "Bb", "E", "Ab")


@pytest.mark.parametrize("root", ROOTS)
@pytest.mark.parametrize(
    "suffix",
    ["⁷", "^7", "^9", "j7", "7maj", "Δ⁷", "ø", "°⁷", "⁺", "sus⁴", " half dim", " minor 7", " on E",
     "/E add9", "maj7/no3", ":maj/3", ":min7/b3", " major seventh", " power", "⁶/⁹"],
)  # fmt: skip
def test_on_any_root(root: str, suffix: str) -> None:
    plain = {"⁷": "7", "^7": "maj7", "^9": "maj9", "j7": "maj7", "7maj": "maj7", "Δ⁷": "maj7",
             "ø": "m7b5", "°⁷": "dim7", "⁺": "aug", "sus⁴": "sus4", " half dim": "m7b5",
             " minor 7": "m7", " on E": "/E", "/E add9": "add9/E", "maj7/no3": "maj7no3",
             ":maj/3": "", ":min7/b3": "m7", " major seventh": "maj7", " power": "5",
             "⁶/⁹": "69"}[suffix]  # fmt: skip
    found, wanted = read_symbol(root + suffix), read_symbol(root + plain)
    assert (found.root, found.degrees) == (wanted.root, wanted.degrees)


@pytest.mark.parametrize(("text", "near"), REFUSED.items())
def test_what_does_not_read_is_refused_with_the_nearest(text: str, near: str) -> None:
    with pytest.raises(ChordSymbolError) as caught:
        read_symbol(text)
    assert caught.value.nearest == near
    assert near in caught.value.remedy
    assert near in str(caught.value)
    assert "\n" not in str(caught.value)
    assert reads(near)


@pytest.mark.parametrize("text", ["H", "H7", "Hm", "Hmaj7"])
def test_h_is_said_to_be_b(text: str) -> None:
    with pytest.raises(ChordSymbolError, match="H is B here"):
        read_symbol(text)
    with pytest.raises(LogbookError, match="H is B here"):
        parse_key(text.rstrip("7maj"))


@pytest.mark.parametrize("text", ["", "xyz", "riff", "1625", "?"])
def test_what_names_no_note_is_answered_with_an_example(text: str) -> None:
    with pytest.raises(ChordSymbolError) as caught:
        read_symbol(text)
    example = re.search(r"as in (\S+)$", caught.value.remedy)
    assert example is not None
    assert reads(example[1])


def test_an_error_still_points_into_what_was_written() -> None:
    with pytest.raises(ChordSymbolError) as caught:
        read_symbol("Ｃmaj７？")
    assert caught.value.text == "Ｃmaj７？"
    assert 0 <= caught.value.position <= 6


@pytest.mark.parametrize(("text", "letters"), [
    ("H7", "B7"), ("B7", "Bb7"), ("Hm7b5", "Bm7b5"), ("B", "Bb"), ("Bb", "Bb"), ("H", "B"),
    ("Es", "Eb"), ("Es7", "Eb7"), ("As", "Ab"), ("Asmaj7", "Abmaj7"), ("Fis", "F#"), ("Cism7", "C#m7"),
    ("Des", "Db"), ("Ges7", "Gb7"), ("Ais", "A#"), ("a", "Am"), ("h", "Bm"), ("es", "Ebm"),
    ("cis7", "C#m7"), ("fis", "F#m"), ("am7", "Am7"), ("C/H", "C/B"), ("G7/H", "G7/B"), ("F/B", "F/Bb"),
    ("Esus4", "Esus4"), ("Asus2", "Asus2"), ("C6/9", "C6/9"), ("Es/B", "Eb/Bb"), ("D/Fis", "D/F#"),
    ("N.C.", "N.C."), ("Bb7", "Bb7"), ("B♭m7", "Bbm7"), ("Bbmaj7", "Bbmaj7"),
])  # fmt: skip
def test_german_names(text: str, letters: str) -> None:
    assert read_symbol(text, "german") == read_symbol(letters)


@pytest.mark.parametrize(("text", "letters"), [
    ("Do", "C"), ("Do7", "C7"), ("Dom7", "Cm7"), ("Re", "D"), ("Ré7", "D7"), ("Mi", "E"), ("Mim", "Em"),
    ("Fa", "F"), ("Fa#m7b5", "F#m7b5"), ("Sol", "G"), ("Solm", "Gm"), ("Sol7/Si", "G7/B"), ("La", "A"),
    ("Lam7", "Am7"), ("Si", "B"), ("Sib", "Bb"), ("Sibm", "Bbm"), ("Si bémol", "Bb"), ("Fa dièse m", "F# m"),
    ("Do/Mi", "C/E"), ("Do6/9", "C6/9"), ("sol7", "G7"), ("Mib7M", "Eb7M"), ("Resus4", "Dsus4"),
])  # fmt: skip
def test_solfege(text: str, letters: str) -> None:
    assert read_symbol(text, "solfege") == read_symbol(letters)


@pytest.mark.parametrize(("text", "spelling", "key"), [
    ("H-Dur", "german", "B major"), ("h-Moll", "german", "B minor"), ("B-Dur", "german", "Bb major"),
    ("es-Moll", "german", "Eb minor"), ("Fis-Dur", "german", "F# major"), ("h", "german", "B minor"),
    ("Sol majeur", "solfege", "G major"), ("La mineur", "solfege", "A minor"), ("Do", "solfege", "C major"),
    ("Si bemolle maggiore", "solfege", "Bb major"), ("Fa#m", "solfege", "F# minor"),
])  # fmt: skip
def test_keys_in_other_names(text: str, spelling: str, key: str) -> None:
    assert parse_key(in_letters(text, spelling)).name == key


def test_a_spelling_that_is_not_kept() -> None:
    with pytest.raises(LogbookError, match="write one of letters, german, solfege"):
        read_symbol("C", "klingon")
    assert nearest_symbol("Cmaj7") == "Cmaj7"


def test_a_line_of_chords() -> None:
    assert split_symbols("C | C on E, Am7 over G") == ["C", "C/E", "Am7/G"]
    assert split_symbols("H7 | Es, a", "german") == ["B7", "Eb", "Am"]
