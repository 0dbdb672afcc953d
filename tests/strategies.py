"""Hypothesis strategies for whole logs, valid by every rule the tables hold.

`logs()` makes a log whose texts are anything a person may type; `logs(plain=True)` one whose
texts with a grammar (fret lines, bars, meters ...) can also be read by the room that knows it.
"""

from __future__ import annotations

import string
from dataclasses import MISSING, fields, replace
from fractions import Fraction
from functools import cache
from typing import Any

from hypothesis import strategies as st

from logbook import records as r
from logbook.notebook.declare import Context, default_of
from logbook.notebook.nouns import NOUNS
from logbook.notebook.working_copy import LogKnown
from logbook.records.fields import storage_of
from logbook.records.files import HEARD_KINDS

# Everything but zero characters and halves of characters, which no database holds.
ANY = st.characters(exclude_characters="\x00", exclude_categories=("Cs",))
words = st.text(alphabet=string.ascii_letters + " '-", min_size=1, max_size=12).map(str.strip)
plain_names = words.filter(bool)
any_names = st.text(ANY, min_size=1, max_size=12).filter(lambda name: bool(name.strip()))
DATES = st.sampled_from(["", "2026-05-02", "2026-05-03", "2025-11-30"])


@cache
def texts(plain: bool) -> st.SearchStrategy[str]:
    """Free text: notes, places, gear."""
    usual = st.sampled_from(
        ["", "", "late", 'with "quotes"', "two\nlines", "Ærø ♭5", "=1+1", "‏שלום"]
    )
    return usual if plain else usual | st.text(ANY, max_size=12)


@cache
def names(plain: bool) -> st.SearchStrategy[str]:
    """Names, never blank."""
    return plain_names if plain else any_names


@cache
def numbers(low: float, high: float) -> st.SearchStrategy[float]:
    """Ordinary decimal numbers, as floats."""
    return st.integers(int(low * 4), int(high * 4)).map(lambda n: n / 4)


@cache
def maybe(strategy: st.SearchStrategy[Any]) -> st.SearchStrategy[Any]:
    """None, or one of these."""
    return st.none() | strategy


def one_of(names_known: list[str]) -> st.SearchStrategy[str]:
    """One of these names, or none."""
    return st.sampled_from(["", *names_known])


def unique(
    draw: st.DrawFn, strategy: st.SearchStrategy[Any], most: int, key: Any = None
) -> tuple[Any, ...]:
    """Up to `most` different ones."""
    return tuple(draw(st.lists(strategy, max_size=most, unique_by=key or (lambda x: x))))


bars_text = st.tuples(st.integers(1, 40), st.integers(0, 12)).map(
    lambda pair: f"{pair[0]}-{pair[0] + pair[1]}" if pair[1] else str(pair[0])
)
fret_lines = st.sampled_from(["x 3 2 0 1 0", "x 0 2 2 1 0", "3 2 0 0 0 3", "0 2 2 1 0 0"])
note_lines = st.sampled_from(["C3 G3 Bb3 Eb4", "Bb4", "F#5 A5", "E2 Cb3 B#3", "C-1 G9"])
picking = st.sampled_from(
    ["D . D U . U D U", "D - D U - U D U", "DU ^ >_D (D) {DU} [D5 m3] h4-2 R2 p10+ <c x2"]
)
meters = st.sampled_from(["3+2+2/8", "4/4", "3/4", "6/8", "7/8", "12/8"])
keys = st.sampled_from(["", "C", "Db", "Bb minor", "F# minor", "A"])
units = st.sampled_from(["", "1/4", "3/8", "1/2"])
beats = st.sampled_from(["1", "2", "3", "5/2", "3/2"])


def built(record: type, **given: st.SearchStrategy[Any]) -> st.SearchStrategy[Any]:
    """Records with these fields; whatever else a record declares is usual, or as its example.

    So a new field comes into every round trip by being declared.
    """
    noun = next((each for each in NOUNS.values() if each.record is record), None)
    context = Context(known=LogKnown(r.Log()))
    for each in noun.fields if noun is not None else ():
        (name,) = each.attributes
        usual = default_of(record, name)
        (kept,) = (storage_of(one) for one in fields(record) if one.name == name)
        if name in given or usual is MISSING or kept in ("song", "row") or kept.startswith(">"):
            continue
        value = each.read(each.example == "true" if each.flag else each.example, context)
        given[name] = st.sampled_from([usual, value])
    return st.builds(record, **given)


@st.composite
def files(draw: st.DrawFn, plain: bool, taken: set[str]) -> r.AudioFile:
    """An audio file at a place on the disk that no other one has."""
    path = draw(
        st.text(alphabet=string.ascii_lowercase, min_size=1, max_size=8).map(
            lambda name: f"audio/{name}.wav"
        )
    )
    while path in taken:
        path = f"audio/{len(taken)}-{path.rpartition('/')[2]}"
    taken.add(path)
    text = texts(plain)
    large = maybe(st.integers(0, 2**40))
    return r.AudioFile(
        path=path,
        folder=draw(st.sampled_from(["/session", "/other session"])),
        digest=draw(st.text(alphabet="0123456789abcdef", max_size=8)),
        container=draw(st.sampled_from(["", "wav", "flac", "mp3"])),
        codec=draw(st.sampled_from(["", "pcm", "flac"])),
        rate_hz=draw(maybe(st.sampled_from([44100, 48000, 96000]))),
        depth_bits=draw(maybe(st.sampled_from([16, 24, 32]))),
        channels=draw(maybe(st.integers(1, 8))),
        frames=draw(large),
        size=draw(large),
        modified=draw(maybe(st.integers(0, 2**62))),
        tags=draw(st.lists(st.tuples(plain_names, text), max_size=2).map(tuple)),
        description=draw(text),
        originator=draw(text),
        originated_at=draw(DATES),
        time_reference=draw(large),
        loudness_lufs=draw(maybe(numbers(-60, 0))),
        loudness_range_lu=draw(maybe(numbers(0, 30))),
        max_true_peak_dbtp=draw(maybe(numbers(-30, 3))),
        ixml_take=draw(text),
        ixml_note=draw(text),
        ixml_scene=draw(text),
        ixml_tracks=tuple(draw(st.lists(text, max_size=3))),
        ixml_circled=draw(maybe(st.booleans())),
        copies=unique(
            draw,
            built(r.FileCopy, place=st.sampled_from(["/media/a.wav", "/media/b.wav"])),
            2,
            lambda copy: copy.place,
        ),
        cues=draw(
            st.lists(built(r.Cue, frame=st.integers(0, 2**40), label=text), max_size=2).map(tuple)
        ),
        microphone=draw(text),
        notes=draw(text),
        heard_doubles=unique(
            draw,
            built(
                r.HeardDouble,
                other=st.text(alphabet="0123456789abcdef", min_size=1, max_size=8),
                kind=st.sampled_from(HEARD_KINDS),
                offset_s=numbers(-20, 20),
                residual_db=numbers(-90, 0),
                median_ms=maybe(numbers(0, 80)),
                lower_quartile_ms=maybe(numbers(0, 80)),
                upper_quartile_ms=maybe(numbers(0, 80)),
                heard_at=DATES,
            ),
            2,
            lambda heard: heard.other,
        ),
        heard_chords=unique(
            draw,
            st.builds(
                r.HeardChord,
                place=st.sampled_from(["all", "1", "9", "9.3", "12.5/2"]),
                logged=text,
                heard=text,
                notes=text,
                sure=numbers(0, 1),
                basis=text,
                heard_at=DATES,
            ),
            2,
            lambda heard: heard.place,
        ),
        measurement=draw(
            maybe(
                built(
                    r.Measurement,
                    tempo_bpm=maybe(numbers(20, 300)),
                    tempo_drift_percent=maybe(numbers(-10, 10)),
                    tempo_reading=text,
                    tempo_bars=text,
                    tuning_cents=maybe(numbers(-50, 50)),
                    tuning_error_cents=maybe(numbers(0, 9)),
                    tuning_from_cents=maybe(numbers(-50, 50)),
                    tuning_to_cents=maybe(numbers(-50, 50)),
                    tuning_apart_cents=maybe(numbers(-25, 25)),
                    tuning_apart=text,
                    click_late_ms=maybe(numbers(-60, 60)),
                    click_error_ms=maybe(numbers(0, 9)),
                    click_by=text,
                    loudness_lufs=maybe(numbers(-60, 0)),
                    true_peak_dbtp=maybe(numbers(-60, 3)),
                    clipped_samples=maybe(st.integers(0, 2**33)),
                    silence_start_s=maybe(numbers(0, 20)),
                    silence_end_s=maybe(numbers(0, 20)),
                    measured_at=DATES,
                )
            )
        ),
    )


def roles(draw: st.DrawFn, plain: bool, people: list[str], most: int = 2) -> tuple[r.Role, ...]:
    """What these people did, each thing once."""
    if not people:
        return ()
    made = built(
        r.Role,
        person=st.sampled_from(people),
        role=st.sampled_from(["engineer", "producer", "performer", "arranger"]),
        instrument=st.sampled_from(["", "fiddle", "guitar"]),
        notes=texts(plain),
    )
    return unique(draw, made, most, lambda role: (role.person, role.role, role.instrument))


@st.composite
def parts(draw: st.DrawFn, plain: bool, name: str, world: dict[str, Any]) -> r.Part:
    """A part without its doubles and overdubs, which need the other parts."""
    text, named = texts(plain), names(plain)
    # A part has frets or it has notes, and some chords are names alone.
    pitched = draw(st.booleans())
    frets = st.just("") if pitched else st.one_of(st.just(""), fret_lines)
    pitches = st.one_of(st.just(""), note_lines) if pitched else st.just("")
    voicings = unique(
        draw,
        built(
            r.Voicing,
            label=named,
            frets=frets,
            pitches=pitches,
            name=st.sampled_from(["", "C", "Am7", "Db/F"]),
            counted=st.sampled_from(["", "nut", "capo"]),
            fingers=st.sampled_from(["", "x 3 2 0 1 0"]),
            avoid=st.sampled_from(["", "6"]),
            ring=st.sampled_from(["", "1 2"]),
            ornaments=st.sampled_from(["", "hammer-on 4 0-2"]),
            notes=text,
        ),
        3,
        lambda voicing: voicing.label,
    )
    patterns = unique(
        draw,
        built(
            r.Pattern,
            label=named,
            grid=st.sampled_from(["1/8", "1/16"]),
            line=picking,
            feel=st.sampled_from(["straight", "swing", "swing 3:2"]),
            notes=text,
        ),
        2,
        lambda pattern: pattern.label,
    )
    chart = unique(
        draw,
        built(
            r.ChartEntry,
            bar=st.integers(0, 40),
            beat=beats,
            voicing=one_of([voicing.label for voicing in voicings]),
            pattern=one_of([pattern.label for pattern in patterns]),
        ),
        5,
        lambda entry: (entry.bar, entry.beat),
    )
    takes = unique(
        draw,
        built(
            r.Take,
            number=st.integers(0, 20),
            session=one_of(world["sessions"]),
            result=st.sampled_from(
                ["", "keeper", "complete", "incomplete", "false start", "reject"]
            ),
            bars=st.just("") | bars_text,
            notes=text,
            punch_ins=st.lists(
                built(r.PunchIn, bars=bars_text, number=st.integers(2, 5), why=text),
                max_size=2,
                unique_by=lambda punch: (punch.bars, punch.number),
            ).map(tuple),
            files=st.lists(files(plain, world["paths"]), max_size=1).map(tuple),
        ),
        3,
        lambda take: (take.session, take.number),
    )
    pieces = st.lists(
        built(
            r.CompPiece,
            bars=bars_text,
            take=st.integers(0, 20),
            source=bars_text,
            session=one_of(world["sessions"]),
            from_version=text,
            from_part=text,
            from_file=st.one_of(st.sampled_from(["", "", "mix", "master", "bounce"]), text),
            crossfade_ms=maybe(numbers(0, 50)),
            notes=text,
        ),
        max_size=3,
        unique_by=lambda piece: piece.bars,
    ).map(tuple)
    comps = unique(
        draw,
        built(r.Comp, name=named, final=st.just(False), notes=text, pieces=pieces),
        2,
        lambda comp: comp.name,
    )
    if comps and draw(st.booleans()):
        last = comps[-1]
        comps = (
            *comps[:-1],
            r.Comp(name=last.name, final=True, notes=last.notes, pieces=last.pieces),
        )
    return r.Part(
        name=name,
        player=draw(one_of(world["people"])),
        instrument=draw(one_of(world["instruments"])),
        tuning=draw(one_of(world["tunings"])),
        capo=draw(st.sampled_from(["", "2", "3", "2 on strings 1-5"])),
        counted=draw(st.sampled_from(["nut", "capo"])),
        pitched=draw(st.sampled_from(["", "written", "sounding"])),
        shape_key=draw(keys),
        picked=draw(st.sampled_from(["", "pick", "fingers", "pick and fingers"])),
        technique=draw(text),
        chain=draw(text),
        pan=draw(text),
        doubled=draw(st.sampled_from(["doubled", "not doubled", "unknown"])),
        doubled_why=draw(text),
        heard=draw(maybe(st.booleans())),
        notes=draw(text),
        technique_notes=unique(
            draw, built(r.TechniqueNote, text=named, bars=st.just("") | bars_text), 2
        ),
        voicings=voicings,
        patterns=patterns,
        chart=chart,
        takes=takes,
        comps=comps,
        tacet=draw(st.sampled_from(["", "33-40"])),
        melody=unique(
            draw,
            built(
                r.Melody,
                bar=st.integers(0, 40),
                beat=beats,
                tune=st.sampled_from(["E4/8 F#4 G4/4. r/8 A4/2", "Bb3/8t C4 D4", "G5/2~ G5/4"]),
                notes=texts(plain),
            ),
            2,
            lambda phrase: (phrase.bar, phrase.beat),
        ),
        recall=recall(draw, plain),
        photographs=photographs(draw, plain),
        votes=votes(draw, plain, world),
        reused=unique(
            draw,
            built(r.Reused, source=bars_text, bars=bars_text, notes=text),
            2,
            lambda reused: (reused.source, reused.bars),
        ),
        roles=roles(draw, plain, world["people"]),
        files=tuple(draw(st.lists(files(plain, world["paths"]), max_size=1))),
    )


def with_others(
    draw: st.DrawFn, plain: bool, part: r.Part, known: list[str], sessions: list[str]
) -> r.Part:
    """The part with doubles and overdubs that name other parts of its version."""

    others = [name for name in known if name != part.name]
    text = texts(plain)
    doubles: tuple[r.Double, ...] = ()
    if others:
        doubles = unique(
            draw,
            built(r.Double, part=st.sampled_from(others), pan=text, notes=text),
            2,
            lambda double: double.part,
        )
    overdubs = unique(
        draw,
        built(
            r.Overdub,
            over=one_of(others),
            session=one_of(sessions),
            bars=st.just("") | bars_text,
            notes=text,
        ),
        2,
        lambda overdub: (overdub.over, overdub.session, overdub.bars),
    )
    return replace(part, doubles=doubles, overdubs=overdubs)


@st.composite
def arrangements(
    draw: st.DrawFn, plain: bool, name: str, known: list[str], world: dict[str, Any]
) -> r.Arrangement:
    """A plan of a version with these parts."""
    text = texts(plain)
    arranged: tuple[r.ArrangedPart, ...] = ()
    if known:
        arranged = unique(
            draw,
            built(
                r.ArrangedPart,
                part=st.sampled_from(known),
                player=one_of(world["people"]),
                instrument=one_of(world["instruments"]),
                tuning=one_of(world["tunings"]),
                capo=maybe(st.sampled_from(["", "3"])),
                way=st.sampled_from(["", "same shapes", "retuned", "new shapes"]),
                left_out=st.booleans(),
                written_for=st.sampled_from(["", "Bb", "Eb", "F", "octave"]),
                notes=text,
            ),
            2,
            lambda part: part.part,
        )
    sections = built(
        r.ArrangedSection,
        name=names(plain),
        source=st.sampled_from(["", "verse"]),
        bars=maybe(st.integers(1, 32)),
        times=st.integers(1, 4),
        vamp=st.booleans(),
        bpm=maybe(numbers(20, 300)),
        unit=units,
        ramp=st.booleans(),
        cue=text,
        moves=st.sampled_from(
            [
                "",
                "up 2",
                "bars 1-2, ring",
                "endings 3 / 4, to coda",
                "rit 2 bars to 60.5",
                "chart C | F . G(b9,#11) .",
            ]
        ),
        notes=text,
    )
    return r.Arrangement(
        name=name,
        purpose=draw(st.sampled_from(["live", "lesson"])),
        key=draw(keys),
        bpm=draw(maybe(numbers(20, 300))),
        unit=draw(units),
        count_in_bars=draw(st.integers(0, 4)),
        notes=draw(text),
        sections=unique(draw, sections, 2, lambda section: section.name),
        parts=arranged,
    )


def form(draw: st.DrawFn, plain: bool) -> tuple[r.FormSection, ...]:
    """Sections one after the other."""
    start, sections = draw(st.integers(0, 1)), []
    for name in draw(st.lists(names(plain), max_size=3)):
        bars = draw(st.integers(1, 16))
        sections.append(r.FormSection(name=name, start=start, bars=bars, notes=draw(texts(plain))))
        start += bars
    return tuple(sections)


def ramp_or_none(tempo: r.TempoChange) -> r.TempoChange:
    """A ramp has an end and a tempo there, and a passage without a tempo has no ramp."""
    if tempo.ramp_bpm is not None and tempo.ramp_end and tempo.free_s is None:
        return tempo
    return replace(tempo, ramp_bpm=None, ramp_unit="", ramp_end="")


@st.composite
def versions(draw: st.DrawFn, plain: bool, name: str, world: dict[str, Any]) -> r.Version:
    """A version with its parts and arrangements."""
    known = draw(st.lists(names(plain), max_size=2, unique=True))
    made = [
        with_others(draw, plain, draw(parts(plain, part, world)), known, world["sessions"])
        for part in known
    ]
    tempos = unique(
        draw,
        built(
            r.TempoChange,
            bar=st.integers(0, 40),
            bpm=numbers(20, 300),
            beat=beats,
            unit=units,
        ).map(ramp_or_none),
        2,
        lambda tempo: (tempo.bar, tempo.beat),
    )
    return r.Version(
        name=name,
        key=draw(keys),
        pickup_beats=draw(st.sampled_from(["", "1", "3/2"])),
        sample_rate_hz=draw(maybe(st.sampled_from([44100, 48000]))),
        isrc=draw(st.sampled_from(["", "XX0002600001"])),
        date=draw(DATES),
        bar_one_at=draw(st.sampled_from(["", "10:02:15.5"])),
        a4_hz=draw(numbers(415, 466)),
        melody_low=draw(st.sampled_from(["", "A3"])),
        melody_high=draw(st.sampled_from(["", "D5"])),
        notes=draw(texts(plain)),
        meters=unique(
            draw,
            built(r.MeterChange, bar=st.integers(0, 40), meter=meters),
            2,
            lambda change: change.bar,
        ),
        tempos=tempos,
        form=form(draw, plain),
        lyrics=unique(
            draw,
            built(
                r.Lyric,
                bar=st.integers(0, 40),
                beat=beats,
                text=names(plain),
                notes=texts(plain),
            ),
            3,
            lambda line: (line.bar, line.beat),
        ),
        parts=tuple(made),
        roles=roles(draw, plain, world["people"]),
        files=tuple(draw(st.lists(files(plain, world["paths"]), max_size=1))),
        deliverables=deliverables(draw, plain),
        arrangements=tuple(
            draw(arrangements(plain, plan, known, world))
            for plan in draw(st.lists(names(plain), max_size=1))
        ),
    )


def shares(draw: st.DrawFn, plain: bool, people: list[str]) -> tuple[r.Share, ...]:
    """Shares of some of these people."""
    if not people:
        return ()
    return unique(
        draw,
        built(
            r.Share,
            person=st.sampled_from(people),
            share=st.fractions(0, 1, max_denominator=60).map(Fraction),
            side=st.sampled_from(["writer", "publisher"]),
            agreed_on=DATES,
            agreed_by=texts(plain),
            notes=texts(plain),
        ),
        2,
        lambda share: (share.person, share.side),
    )


@st.composite
def logs(draw: st.DrawFn, plain: bool = False) -> r.Log:
    """A whole log."""
    text, named = texts(plain), names(plain)

    def some(most: int) -> list[str]:
        return draw(st.lists(named, max_size=most, unique=True))

    tunings = [
        r.Tuning(
            name=name,
            strings=draw(st.sampled_from(["E2 A2 D3 G3 B3 E4", "D2 A2 D3 G3 A3 D4"])),
            a4_hz=draw(numbers(415, 466)),
            offset_cents=draw(numbers(-50, 50)),
            notes=draw(text),
        )
        for name in some(2)
    ]
    instruments = [
        r.Instrument(
            name=name,
            kind=draw(st.sampled_from(["", "guitar", "bass"])),
            owner=draw(text),
            strings=draw(maybe(st.integers(1, 18))),
            scale_mm=draw(maybe(numbers(300, 900))),
            frets=draw(maybe(st.integers(0, 36))),
            tuning=draw(one_of([tuning.name for tuning in tunings])),
            gauge=draw(text),
            transposition=draw(maybe(st.integers(-24, 24))),
            notes=draw(text),
        )
        for name in some(2)
    ]
    people = [
        r.Person(
            name=name,
            full_name=draw(text),
            credited_as=draw(text),
            other_names=unique(draw, named, 2),
            isni=draw(st.sampled_from(["", "0000000000000001"])),
            ipi=draw(st.sampled_from(["", "00000000199"])),
            low=draw(st.sampled_from(["", "A3"])),
            high=draw(st.sampled_from(["", "D5"])),
            notes=draw(text),
        )
        for name in some(3)
    ]
    known = [person.name for person in people]
    sessions = [
        r.Session(
            name=name,
            date=draw(DATES),
            end_date=draw(DATES),
            place=draw(text),
            gear=draw(text),
            file_pattern=draw(st.sampled_from(["", "{part}_{take}"])),
            notes=draw(text),
            people=roles(draw, plain, known),
            inputs=inputs(draw, plain),
            recall=recall(draw, plain),
            photographs=photographs(draw, plain),
            hours=hours(draw, plain, known),
        )
        for name in some(2)
    ]
    world: dict[str, Any] = {
        "people": known,
        "tunings": [tuning.name for tuning in tunings],
        "instruments": [instrument.name for instrument in instruments],
        "sessions": [session.name for session in sessions],
        "paths": set(),
    }
    songs = [
        r.Song(
            title=title,
            iswc=draw(st.sampled_from(["", "T0000000010"])),
            notes=draw(text),
            shares=shares(draw, plain, known),
            roles=roles(draw, plain, known),
            versions=tuple(draw(versions(plain, name, world)) for name in some(2)),
        )
        for title in some(2)
    ]
    placed = [(song.title, version) for song in songs for version in song.versions]
    loose = tuple(draw(st.lists(files(plain, world["paths"]), max_size=1)))
    return r.Log(
        people=tuple(people),
        tunings=tuple(tunings),
        instruments=tuple(instruments),
        sessions=tuple(sessions),
        songs=tuple(songs),
        projects=_projects(draw, plain, placed),
        setlists=_setlists(draw, plain, placed),
        remarks=tuple(draw(remarks(plain, name)) for name in some(2)),
        files=loose,
    )


def votes(draw: st.DrawFn, plain: bool, world: dict[str, Any]) -> tuple[r.Vote, ...]:
    """What people think of takes that may not be there."""
    each = built(
        r.Vote,
        bars=bars_text,
        take=st.integers(1, 20),
        rating=st.sampled_from(["best", "good", "fair", "poor"]),
        person=one_of(world["people"]),
        session=one_of(world["sessions"]),
        phrase=texts(plain),
        notes=texts(plain),
    )
    return unique(draw, each, 2, lambda vote: (vote.person, vote.bars, vote.take, vote.session))


def recall(draw: st.DrawFn, plain: bool) -> tuple[r.Recall, ...]:
    """How things stood."""
    each = built(r.Recall, device=names(plain), settings=texts(plain), used_for=texts(plain))
    return unique(draw, each, 2, lambda one: (one.device, one.used_for))


def photographs(draw: st.DrawFn, plain: bool) -> tuple[r.Photograph, ...]:
    """Photographs, some of which nobody has looked at."""
    path = st.sampled_from(["/photos/combo.jpg", "/photos/two; pedals.png", "C:\\desk.jpg"])
    each = built(r.Photograph, path=path, device=texts(plain), digest=st.sampled_from(["", "ab"]))
    return unique(draw, each, 1, lambda one: one.path)


def deliverables(draw: st.DrawFn, plain: bool) -> tuple[r.Deliverable, ...]:
    """What leaves the house."""
    kinds = st.sampled_from(["master", "stems", "TV track"]) | names(plain)
    each = built(
        r.Deliverable,
        kind=kinds.map(lambda kind: " ".join(kind.split()) or "x"),
        mix=texts(plain),
        status=st.sampled_from(["wanted", "in work", "ready", "delivered", "not wanted"]),
        files=st.sampled_from([(), ("/out/a.wav",), ("/out/b, c.wav", "/out/d.wav")]),
        notes=texts(plain),
    )
    return unique(draw, each, 2, lambda one: (one.kind, one.mix))


def inputs(draw: st.DrawFn, plain: bool) -> tuple[r.InputChannel, ...]:
    """An input list, in which a channel may stand twice."""
    channels = st.sampled_from(["1", "2", "1-2", "10", "DI 1", "stage box 3"])
    each = built(r.InputChannel, channel=channels, source=names(plain), notes=texts(plain))
    return unique(draw, each, 2, lambda one: (one.channel, one.source))


def hours(draw: st.DrawFn, plain: bool, people: list[str]) -> tuple[r.Hours, ...]:
    """Hours of people that are known, which may overlap."""
    if not people:
        return ()
    each = built(
        r.Hours,
        person=st.sampled_from(people),
        started_at=st.sampled_from(["2026-05-02 10:00", "2026-05-02 22:00 -05:00"]),
        ended_at=st.sampled_from(["", "18:30", "2026-05-03 04:00 +02:00", "23:55 -06:00"]),
        breaks=st.sampled_from(["", "15 min, 1 h 5 min", "23:00-23:30"]),
        notes=texts(plain),
    )
    return unique(draw, each, 2, lambda one: (one.person, one.started_at))


def remarks(plain: bool, name: str) -> st.SearchStrategy[r.Remark]:
    """A line that stayed as it was typed."""
    return built(
        r.Remark,
        name=st.just(name),
        text=names(plain),
        why=texts(plain),
        place=texts(plain),
        written_at=st.sampled_from(["", "2026-05-02T10:14:00.000Z"]),
        settled=texts(plain),
    )


def _projects(
    draw: st.DrawFn, plain: bool, placed: list[tuple[str, r.Version]]
) -> tuple[r.Project, ...]:
    tracks = [r.Track(song=title, version=version.name) for title, version in placed]
    return tuple(
        r.Project(
            title=title,
            barcode=draw(st.sampled_from(["", "4006381333931"])),
            date=draw(DATES),
            notes=draw(texts(plain)),
            tracks=tuple(draw(st.permutations(tracks))) if tracks else (),
        )
        for title in draw(st.lists(names(plain), max_size=1))
    )


def _setlists(
    draw: st.DrawFn, plain: bool, placed: list[tuple[str, r.Version]]
) -> tuple[r.SetList, ...]:
    entries = [
        r.SetListEntry(
            song=title,
            version=version.name,
            arrangement=draw(one_of([plan.name for plan in version.arrangements])),
            place=draw(st.sampled_from(["", "opener", "closer"])),
            with_next=draw(st.booleans()),
            notes=draw(texts(plain)),
        )
        for title, version in placed
    ]
    return tuple(
        r.SetList(
            name=name,
            date=draw(DATES),
            place=draw(texts(plain)),
            notes=draw(texts(plain)),
            entries=tuple(draw(st.permutations(entries))) if entries else (),
        )
        for name in draw(st.lists(names(plain), max_size=1))
    )
