"""A song of an invented folk duo's EP, two days in a boathouse, built by hand.

"The Ferry Bell" sounds in A. The first guitar has a capo at 2 and plays G shapes, its frets are
counted from the capo; the second is in DADGAD with a partial capo, counted from the nut.
"""

from __future__ import annotations

from fractions import Fraction

from logbook.records import (
    AudioFile,
    ChartEntry,
    Comp,
    CompPiece,
    Double,
    FormSection,
    Instrument,
    Log,
    MeterChange,
    Overdub,
    Part,
    Pattern,
    Person,
    PunchIn,
    Role,
    Session,
    Share,
    Song,
    Take,
    TechniqueNote,
    TempoChange,
    Tuning,
    Version,
    Voicing,
)

SATURDAY, SUNDAY = "boathouse Saturday", "boathouse Sunday"

SMALL_BODY = Instrument(
    name="the small-body",
    kind="acoustic guitar",
    scale_mm=632.0,
    frets=20,
    tuning="standard",
    gauge="12-53",
)
OTHER = Instrument(name="the cedar top", kind="acoustic guitar", tuning="DADGAD", strings=6)
BOX = Instrument(name="the oval-hole mandolin", kind="mandolin", tuning="mandolin", strings=4)

VERSE = (
    ChartEntry(bar=1, voicing="G", pattern="roll"),
    ChartEntry(bar=3, voicing="Cadd9"),
    ChartEntry(bar=4, beat="3", voicing="D/F#"),
    ChartEntry(bar=5, voicing="G", pattern="roll"),
    ChartEntry(bar=7, voicing="Em7"),
    ChartEntry(bar=8, voicing="Cadd9"),
    ChartEntry(bar=8, beat="7/2", voicing="D"),
    ChartEntry(bar=9, voicing="G", pattern="strum"),
    ChartEntry(bar=12, voicing=""),
    ChartEntry(bar=12, beat="4", voicing="D"),
    ChartEntry(bar=13, voicing="Em7"),
    ChartEntry(bar=14, beat="2", voicing="Cadd9"),
    ChartEntry(bar=16, voicing="G"),
)

GUITAR = Part(
    name="first guitar",
    player="Una Farrow",
    instrument="the small-body",
    capo="2",
    counted="capo",
    shape_key="G",
    picked="fingers",
    technique="near the bridge in the verses, over the hole in the chorus",
    technique_notes=(TechniqueNote(text="let the low string die away", bars="12"),),
    chain="one small condenser at the twelfth fret, no compressor",
    pan="30 left",
    doubled="doubled",
    doubled_why="the chorus felt thin on Saturday night",
    doubles=(Double(part="second guitar", pan="apart"),),
    voicings=(
        Voicing(label="G", name="A", frets="3 2 0 0 0 3", fingers="2 1 - - - 3"),
        Voicing(label="Cadd9", name="Dadd9", frets="x 3 2 0 3 0", fingers="x 2 1 - 3 -", avoid="6"),
        Voicing(label="D", frets="x x 0 2 3 2", fingers="x x 0 1 3 2", ring="5"),
        Voicing(
            label="D/F#",
            name="E/G#",
            frets="2 x 0 2 3 2",
            ornaments="hammer-on 1 0-2, slide 2 1-3",
        ),
        Voicing(label="Em7", name="F#m7", frets="2 4 4 4 2 2", counted="nut"),
        Voicing(label="the ache", frets="x 0 2 1 3 (0)", notes="only in the last verse"),
    ),
    patterns=(
        Pattern(label="roll", grid="1/8", line="p.im pima"),
        Pattern(label="strum", grid="1/16", line=">D..U ..DU x.DU ..DU", feel="swing 3:2"),
    ),
    chart=VERSE,
    takes=(
        Take(number=1, session=SATURDAY, result="false start", bars="1-2", notes="chair creaked"),
        Take(
            number=2,
            session=SATURDAY,
            result="keeper",
            bars="1-16",
            punch_ins=(PunchIn(bars="12", number=2, why="late on the change"),),
            files=(
                AudioFile(
                    path="sat/gtr1_02.wav", rate_hz=48000, depth_bits=24, channels=1, frames=2003478
                ),
            ),
        ),
        Take(number=5, session=SATURDAY, result="complete", bars="1-16", notes="best feel"),
    ),
    comps=(
        Comp(
            pieces=(
                CompPiece(bars="1-8", take=2, source="1-8"),
                CompPiece(bars="9-12", take=5, source="9-12", crossfade_ms=10.0),
                CompPiece(bars="13-14", take=5, source="9-10"),
                CompPiece(bars="15-16", take=2, source="15-16"),
            )
        ),
    ),
)

SECOND = Part(
    name="second guitar",
    player="Una Farrow",
    instrument="the cedar top",
    capo="2 on strings 3-5",
    counted="nut",
    doubled="unknown",
    overdubs=(Overdub(over="first guitar", session=SUNDAY, notes="one pass, no click"),),
    voicings=(Voicing(label="A5", frets="0 0 0 0 0 0"), Voicing(label="D", frets="0 x 4 4 3 0")),
    takes=(Take(number=1, session=SUNDAY, result="keeper", bars="1-16"),),
)

MANDOLIN = Part(
    name="mandolin",
    player="Tam Orrin",
    instrument="the oval-hole mandolin",
    picked="pick",
    doubled="not doubled",
    doubled_why="two of them fought with the voice",
    voicings=(Voicing(label="A", frets="2 2 4 5"), Voicing(label="E", frets="1 2 2 x")),
    chart=(ChartEntry(bar=9, voicing="A"), ChartEntry(bar=13, voicing="E")),
    takes=(Take(number=1, session=SUNDAY, result="keeper", bars="9-16"),),
)

VOICE = Part(
    name="voice",
    player="Tam Orrin",
    doubled="not doubled",
    takes=(
        Take(number=1, session=SUNDAY, result="complete", bars="1-16"),
        Take(number=2, session=SUNDAY, bars="1-16"),
    ),
)

EP = Version(
    name="EP version",
    key="A",
    sample_rate_hz=48000,
    pickup_beats="1",
    meters=(MeterChange(bar=1, meter="4/4"),),
    tempos=(
        TempoChange(bar=1, bpm=92.0),
        TempoChange(bar=13, bpm=92.0, ramp_bpm=84, ramp_end="17"),
    ),
    form=(
        FormSection(name="verse", start=1, bars=8),
        FormSection(name="chorus", start=9, bars=4),
        FormSection(name="tag", start=13, bars=4, notes="slower, watch the bell"),
    ),
    parts=(GUITAR, SECOND, MANDOLIN, VOICE),
)

FERRY = Song(
    title="The Ferry Bell",
    shares=(
        Share(person="Una Farrow", share=Fraction(1, 2)),
        Share(person="Tam Orrin", share=Fraction(1, 2)),
    ),
    versions=(EP,),
)

LOG = Log(
    people=(Person(name="Una Farrow"), Person(name="Tam Orrin"), Person(name="Wil Hask")),
    tunings=(Tuning(name="DADGAD", strings="D2 A2 D3 G3 A3 D4"),),
    instruments=(SMALL_BODY, OTHER, BOX),
    sessions=(
        Session(
            name=SATURDAY,
            date="2026-05-02",
            place="the boathouse at Ellin Sound",
            people=(Role(person="Wil Hask", role="engineer"),),
        ),
        Session(name=SUNDAY, date="2026-05-03", place="the boathouse at Ellin Sound"),
    ),
    songs=(FERRY,),
)
