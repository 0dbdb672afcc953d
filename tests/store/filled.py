"""A small invented log with rows in every table."""

from __future__ import annotations

from fractions import Fraction

from logbook import records as r
from logbook.store.changing import Change
from logbook.store.finding import LogPlace
from logbook.store.here import set_here
from logbook.store.remembering import each_song
from logbook.store.store import Store
from logbook.store.writing import put, put_log
from tests.planted import planted

GUITAR = LogPlace("Salt Road", "album", "guitar")


def audio(path: str) -> r.AudioFile:
    return r.AudioFile(
        path=path,
        folder="/boathouse",
        digest="aa" + path,
        rate_hz=48000,
        frames=2**33,
        modified=1_790_000_000_123_456_789,
        tags=(("title", "Salt Road"), ("artist", 'The "Tide"')),
        ixml_circled=True,
        copies=(r.FileCopy(place="/media/blue/a.wav", medium="blue", digest="aa"),),
        cues=(r.Cue(frame=2**34, label="verse"),),
        measurement=r.Measurement(tempo_bpm=92.5, clipped_samples=0),
        heard_doubles=(
            r.HeardDouble(other="ab12", kind="second performance", offset_s=0.5, median_ms=9.5),
            r.HeardDouble(other="cd34", kind="delayed", offset_s=-1.25, residual_db=-80.0),
        ),
        heard_chords=(r.HeardChord(place="9.3", logged="F#m7", heard="A", sure=0.93, basis="b"),),
    )


def small_log() -> r.Log:
    """People, a song with everything a song can hold, a project and a set list."""
    guitar = r.Part(
        name="guitar",
        player="Ada",
        instrument="Old Guitar",
        tuning="dropped",
        capo="2",
        heard=True,
        doubled="doubled",
        technique_notes=(r.TechniqueNote(text="let ring", bars="1-4"),),
        voicings=(
            r.Voicing(label="C", frets="x 3 2 0 1 0"),
            r.Voicing(label="Am", frets="x 0 2 2 1 0"),
        ),
        patterns=(r.Pattern(label="main", grid="1/8", line="D . D U . U D U"),),
        chart=(
            r.ChartEntry(bar=1, voicing="C", pattern="main"),
            r.ChartEntry(bar=2, beat="5/2", voicing="Am"),
            r.ChartEntry(bar=3),
        ),
        takes=(
            r.Take(
                number=1,
                session="day one",
                result="keeper",
                bars="1-8",
                notes="the good one",
                punch_ins=(r.PunchIn(bars="3", why="buzz"),),
                files=(audio("takes/guitar_1.wav"),),
            ),
            r.Take(number=1, session="day two"),
            r.Take(number=2, result="false start"),
        ),
        comps=(
            r.Comp(
                pieces=(
                    r.CompPiece(bars="1-4", take=1, source="1-4", session="day one"),
                    r.CompPiece(bars="5-8", take=9, source="1-4", crossfade_ms=12.5),
                )
            ),
        ),
        recall=(r.Recall(device="combo", settings="gain 4", used_for="chorus"),),
        photographs=(r.Photograph(path="/pictures/combo.jpg", digest="ab", device="combo"),),
        tacet="verse, 7-8",
        melody=(
            r.Melody(bar=1, tune="E4/8 F#4 | A4/2"),
            r.Melody(bar=3, beat="5/2", tune="r/4 B4"),
        ),
        votes=(r.Vote(bars="1-4", take=1, person="Ada", session="day one", phrase="salt"),),
        doubles=(r.Double(part="guitar two", pan="L and R"),),
        reused=(r.Reused(source="1-4", bars="5-8"),),
        roles=(r.Role(person="Ada", role="performer", instrument="guitar"),),
        files=(audio("bounces/guitar.wav"),),
    )
    second = r.Part(
        name="guitar two",
        overdubs=(r.Overdub(over="guitar", session="day two", bars="1-8"),),
    )
    horn = r.Part(
        name="horn",
        instrument="Tin Horn",
        pitched="written",
        voicings=(r.Voicing(label="Db", pitches="Eb4 G4 Bb4"), r.Voicing(label="Ab7")),
        chart=(r.ChartEntry(bar=1, voicing="Db"), r.ChartEntry(bar=5, voicing="Ab7")),
    )
    version = r.Version(
        name="album",
        key="Db",
        sample_rate_hz=48000,
        meters=(r.MeterChange(bar=1, meter="4/4"),),
        tempos=(r.TempoChange(bar=1, bpm=92.5), r.TempoChange(bar=9, bpm=100, unit="1/4")),
        form=(r.FormSection(name="verse", start=1, bars=8),),
        lyrics=(r.Lyric(bar=1, text="the tide comes in"), r.Lyric(bar=3, beat="5/2", text="and")),
        parts=(guitar, second, horn),
        roles=(r.Role(person="Ben", role="producer"),),
        files=(audio("mixes/salt road.wav"),),
        deliverables=(
            r.Deliverable(kind="master", mix="3", rate_hz=48000, files=("/out/master.wav",)),
            r.Deliverable(kind="stems", status="in work"),
        ),
        arrangements=(
            r.Arrangement(
                name="stage",
                bpm=88,
                sections=(r.ArrangedSection(name="verse", source="verse", vamp=True),),
                parts=(r.ArrangedPart(part="guitar", player="Ben", capo="", left_out=False),),
            ),
        ),
    )
    song = r.Song(
        title="Salt Road",
        shares=(
            r.Share(person="Ada", share=Fraction(2, 3)),
            r.Share(person="Ben", share=Fraction(1, 3)),
        ),
        roles=(r.Role(person="Ada", role="composer"),),
        versions=(version,),
    )
    return r.Log(
        people=(r.Person(name="Ada", other_names=("A. D.", "Adа")), r.Person(name="Ben")),
        tunings=(r.Tuning(name="dropped", strings="D2 A2 D3 G3 B3 E4"),),
        instruments=(
            r.Instrument(name="Old Guitar", kind="guitar", tuning="dropped"),
            r.Instrument(name="Tin Horn", kind="trumpet", transposition=2),
        ),
        sessions=(
            r.Session(
                name="day one",
                date="2026-05-02",
                people=(r.Role(person="Ben", role="engineer"),),
                inputs=(
                    r.InputChannel(channel="1", source="kick", microphone="big dynamic"),
                    r.InputChannel(channel="2", source="snare", placed="over the rim", track="2"),
                ),
                recall=(r.Recall(device="desk", settings="flat"),),
                photographs=(r.Photograph(path="/pictures/desk.jpg"),),
                hours=(
                    r.Hours(
                        person="Ben",
                        started_at="2026-05-02 10:00",
                        ended_at="18:30",
                        breaks="45 min",
                    ),
                ),
            ),
            r.Session(name="day two", date="2026-05-03"),
        ),
        songs=(song, r.Song(title="Low Water")),
        projects=(
            r.Project(title="Boathouse EP", tracks=(r.Track(song="Salt Road", version="album"),)),
        ),
        setlists=(
            r.SetList(
                name="spring",
                entries=(
                    r.SetListEntry(
                        song="Salt Road", version="album", arrangement="stage", place="opener"
                    ),
                ),
            ),
        ),
        files=(audio("loose.wav"),),
        remarks=(r.Remark(name="1", text="the odd bit again", why="no kind of line"),),
    )


def fill(store: Store) -> None:
    """Have the small log in an empty one, with a bookmark, in two commands."""
    planted(store, "small", lambda: _put(store))


def _put(store: Store) -> None:
    with store.change("load small.toml") as change:
        put_log(change, small_log())
    with store.change("take add good") as change:
        put(change, r.Take(number=2, session="day two"), GUITAR)
    list(each_song(store, "rules 1", lambda log: log.songs[0].title))
    set_here(store, session_id=1, version_id=1, part_id=1)


def take(change: Change, number: int, session: str = "", notes: str = "") -> None:
    put(change, r.Take(number=number, session=session, notes=notes), GUITAR)
