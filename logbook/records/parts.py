"""A part and everything said about it: voicings, patterns, chart, takes, comps, doubles."""

from __future__ import annotations

from dataclasses import dataclass, field

from logbook.records.fields import holds, needed, noted, written
from logbook.records.files import AudioFile
from logbook.records.melodies import Melody
from logbook.records.people import Role
from logbook.records.recalls import Photograph, Recall
from logbook.records.votes import Vote


@dataclass(frozen=True, kw_only=True)
class Voicing:
    """One chord as fingered.

    `label` is what the chart calls it (unique in the part); `name` the concert name the player
    gave it (empty: the label is taken as the name when it reads as a chord symbol);
    `frets` the fret line as written, low string to high, empty while nobody has said one;
    `counted` "nut" or "capo", empty for the part's own way; `fingers` a line like
    "x 3 2 0 1 0"; `avoid` and `ring` string numbers (1 is the highest) not to be touched, or
    that may ring; `pitches` are its notes on an instrument without frets, said as the part says
    them (written or sounding); `ornaments` e.g. "hammer-on 4 0-2, slide 2 3-5" (kind, string,
    frets counted as in the fret line).
    """

    label: str = field(metadata=needed("what the chart calls it", "Am7", "name"))
    counted: str = written(
        "", "frets counted from nut or capo (empty: as in the part)", "capo", "counted"
    )
    frets: str = written(
        "",
        "a fret for each string, low to high; x not played, (0) may ring; empty: none yet",
        "x 0 2 0 1 0",
        "_frets",
    )
    pitches: str = written(
        "",
        "its notes, low to high, where no frets say them",
        "C3 G3 Bb3 Eb4",
        "_pitches",
    )
    name: str = written(
        "",
        "the sounding (concert) chord name the player gave it",
        "Bm7",
        lambda on: on.checked(on.read_symbol),
    )
    fingers: str = written(
        "", "a finger for each string, low to high; T thumb, - none", "- - 2 - 1 -", "_fingers"
    )
    avoid: str = written("", "strings not to be touched, 1 the highest", "6", "_string_numbers")
    ring: str = written("", "strings that may ring", "1, 2", "_string_numbers")
    ornaments: str = written(
        "", "kind, string and frets, with commas between", "hammer-on 4 0-2", "_ornaments"
    )
    notes: str = noted()


@dataclass(frozen=True, kw_only=True)
class Pattern:
    """What the picking hand does: `line` on a grid of `grid` (a note value, "1/16").

    `feel` is "straight", "swing" or "swing 3:2", as the picking module reads it.
    """

    label: str = field(metadata=needed("what the chart calls it", "strum", "name"))
    grid: str = field(metadata=needed("the note value of a step", "1/8", "_grid"))
    feel: str = written(
        "straight", "straight, swing, or the lengths as in swing 3:2", "swing", "_feel"
    )
    line: str = field(
        metadata=needed(
            "the strokes: D U d u B b p i m a c P T O R x * . r; of drums: hat x.x.; kick x...",
            "D.DU .UDU",
            "_strokes",
        )
    )
    notes: str = noted()


@dataclass(frozen=True, kw_only=True)
class ChartEntry:
    """The voicing that starts at `bar` and `beat` (from 1, may be a fraction "5/2").

    An empty `voicing` is a rest of the part; an empty `pattern` goes on with the one before.
    """

    bar: int = field(metadata=needed("which bar", "17", "_chart_bar"))
    beat: str = written("1", "which beat of it", "3", "_chart_beat")
    voicing: str = written(
        "", "the voicing (empty: the part rests)", "Am7", "chart_entry_voicing", stored=">voicing"
    )
    pattern: str = written(
        "", "the pattern (empty: goes on)", "strum", "chart_entry_pattern", stored=">pattern"
    )


@dataclass(frozen=True, kw_only=True)
class PunchIn:
    """Bars of a take recorded over: `bars` a range ("12", "12.3-14"), which pass, and why.

    The first recording is pass 1, so the first punch-in is pass 2.
    """

    bars: str = field(metadata=needed("which bars", "12", "bars"))
    number: int = written(
        2,
        "on which pass (the first recording is pass 1)",
        "2",
        lambda on: on.whole(1, 10_000),
        key="pass",
    )
    why: str = written("", "why", "late on the change", "text")


@dataclass(frozen=True, kw_only=True)
class Take:
    """One recorded pass.

    `number` is counted within the part and the session; `result` one of keeper, complete,
    incomplete, false start, reject, or empty while unrated; `bars` the range it covers.
    `clock` is the time of day at which it began, on the clock of the place ("14:32:05").
    """

    number: int = field(metadata=needed("its number", "3", "take_number"))
    session: str = written("", "the session it belongs to", "day one", "session", stored=">session")
    result: str = written(
        "", "keeper, complete, incomplete, false start or reject", "keeper", "result"
    )
    bars: str = written("", "the bars it covers", "1-32", "bars")
    clock: str = written("", "the time of day it began", "14:32:05", "time_of_day")
    notes: str = noted()
    punch_ins: tuple[PunchIn, ...] = holds("punch-in", "punch punch_ins punch_in", whole=True)
    files: tuple[AudioFile, ...] = holds("file", "files file", implied="implied_folder")


@dataclass(frozen=True, kw_only=True)
class CompPiece:
    """One edit decision: `bars` of the finished part come from `source` bars of a take.

    The take may be one of another version of the song and of another part there, or there is a
    finished file instead of a take (`take` 0); `source` is counted by that version's bars.

    `take` is the take's number and `session` its session, which may stay empty while the number
    alone says which take is meant. Crossfades are in milliseconds at the piece's start.
    """

    bars: str = field(metadata=needed("bars of the finished part", "17-24", "bars"))
    take: int = field(metadata=needed("the take's number (0: a finished file)", "5", "_piece_take"))
    source: str = field(
        metadata=needed("bars of that take (empty: the same bars)", "9-16", "_source")
    )
    session: str = written(
        "",
        "the take's session, where the number alone is not enough",
        "day one",
        "session",
        stored=">session",
    )
    from_version: str = written("", "the version it comes from, if another", "album", "text")
    from_part: str = written("", "the part it comes from, if another", "second guitar", "text")
    from_file: str = written(
        "", "mix, master, bounce or a file's name, instead of a take", "mix", "text"
    )
    crossfade_ms: float | None = written(
        None,
        "crossfade into the piece, in ms",
        "10",
        lambda on: on.maybe(on.number(0, 60_000, "ms")),
        key="crossfade",
        write="short",
    )
    notes: str = noted()

    @property
    def is_elsewhere(self) -> bool:
        """Whether it comes from anything else than a take of the part itself."""
        return bool(self.from_version or self.from_part or self.from_file)


@dataclass(frozen=True, kw_only=True)
class Comp:
    """An ordered list of pieces; `final` marks the one that is heard (one of a part's)."""

    name: str = written("comp", "what it is called", "comp", "name")
    final: bool = written(True, "whether it is the one that is heard", "true", "yes_no", flag=True)
    notes: str = noted()
    pieces: tuple[CompPiece, ...] = holds(
        "piece", "pieces piece", whole=True, implied="pinned_session"
    )


@dataclass(frozen=True, kw_only=True)
class Double:
    """Another part of the version (`part`) that doubles the one this stands in."""

    part: str = field(
        metadata=needed("the other part", "second guitar", "_other_part", stored=">part:other_id")
    )
    pan: str = written("", "where the two are panned", "hard right", "text")
    notes: str = noted()


@dataclass(frozen=True, kw_only=True)
class Overdub:
    """The part this stands in was added on top, of `over` (a part of the version) if said."""

    over: str = written("", "the part it was added to", "guitar", "part_name", stored=">part")
    session: str = written("", "when it was added", "day two", "session", stored=">session")
    bars: str = written("", "the bars it covers", "17-24", "bar_ranges")
    notes: str = noted()


@dataclass(frozen=True, kw_only=True)
class Reused:
    """What was said about reuse: `source` bars of the finished part stand again at `bars`.

    A remembered statement; what the comp says is worked out from the comp, and `check` compares.
    """

    source: str = field(metadata=needed("the bars that were played", "9-16", "bar_range"))
    bars: str = field(metadata=needed("where they are repeated", "41-48", "bar_range"))
    notes: str = noted()


@dataclass(frozen=True, kw_only=True)
class TechniqueNote:
    """A remark on how something is played, for `bars` of the part (empty: throughout)."""

    text: str = field(metadata=needed("the remark", "let the fourth string ring", "name"))
    bars: str = written("", "the bars it is for", "17-24", "bar_ranges")


@dataclass(frozen=True, kw_only=True)
class Part:
    """Something played on a version by a player on an instrument.

    `capo` is written as the strings room reads it ("2", "2 on strings 1-5", empty for none);
    `counted` says how frets are counted: "nut" or "capo"; `picked` is "pick", "fingers",
    "pick and fingers" or empty; `doubled` is "doubled", "not doubled" or "unknown", and
    `doubled_why` the reason; `heard` whether the part is in the final version (None: not said).
    `tacet` names the sections, or bars, in which it does not play.
    `shape_key` is the key the hands play in, when the player said one. `files` are bounces of
    the finished part.
    """

    name: str = field(metadata=needed("what it is called", "guitar", "name"))
    aliases: str = written("", "what files call it too, commas between", "Gtr, AcGtr close", "text")
    player: str = written(
        "", "who plays", "Ada Fenrush", lambda on: on.known("person"), stored=">person"
    )
    instrument: str = written(
        "",
        "on which instrument",
        "the larch guitar",
        lambda on: on.known("instrument"),
        stored=">instrument",
    )
    tuning: str = written(
        "",
        "in which tuning (empty: the instrument's usual one)",
        "DADGAD",
        "tuning_name",
        stored=">tuning",
    )
    capo: str = written(
        "", "capo fret, and the strings if it is a partial one", "2 on strings 1-5", "capo"
    )
    counted: str = written(
        "nut", "whether frets are counted from the nut or the capo", "capo", "counted"
    )
    pitched: str = written(
        "",
        "whether its notes are said as written or as sounding (empty: sounding)",
        "written",
        lambda on: on.one_of("written", "sounding", concert="sounding"),
    )
    shape_key: str = written("", "the key the hands play in", "G", "key_name")
    picked: str = written(
        "",
        "pick, fingers, or pick and fingers",
        "fingers",
        lambda on: on.one_of(
            "pick",
            "fingers",
            "pick and fingers",
            both="pick and fingers",
            plectrum="pick",
            fingerstyle="fingers",
        ),
    )
    technique: str = written("", "how it is played, in a few words", "palm near the bridge", "text")
    chain: str = written("", "signal chain", "ribbon, preamp, no compression", "text")
    pan: str = written("", "where it is panned", "left 40", "text")
    doubled: str = written("unknown", "doubled, not doubled or unknown", "not doubled", "_doubled")
    doubled_why: str = written(
        "", "why it is doubled or not", "the open strings would beat", "text", key="why"
    )
    heard: bool | None = written(
        None,
        "whether it is in the final version",
        "true",
        lambda on: on.maybe(on.yes_no),
        flag=True,
    )
    tacet: str = written(
        "", "sections or bars it does not play in, commas between", "intro, 33-40", "read_tacet"
    )
    notes: str = noted()
    technique_notes: tuple[TechniqueNote, ...] = holds(
        "technique-note", "technique_notes technique_note"
    )
    roles: tuple[Role, ...] = holds("role", "people role person")
    recall: tuple[Recall, ...] = holds("recall", "recall")
    photographs: tuple[Photograph, ...] = holds("photograph", "photographs photograph")
    voicings: tuple[Voicing, ...] = holds("voicing", "voicings voicing", labelled=True)
    patterns: tuple[Pattern, ...] = holds("pattern", "patterns pattern", labelled=True)
    chart: tuple[ChartEntry, ...] = holds(
        "chart-entry",
        "chart",
        whole=True,
        read_all="read_chart_lines",
        write_all="write_chart_lines",
    )
    melody: tuple[Melody, ...] = holds("melody", "melody")
    takes: tuple[Take, ...] = holds(
        "take", "takes take", grouped="session", implied="implied_session"
    )
    comps: tuple[Comp, ...] = holds(
        "comp", "comp comps", unpack="unpack_comps", settle="settle_comps"
    )
    votes: tuple[Vote, ...] = holds("vote", "votes vote")
    reused: tuple[Reused, ...] = holds("reused", "reused")
    doubles: tuple[Double, ...] = holds("double", "doubles double")
    overdubs: tuple[Overdub, ...] = holds("overdub", "overdubs overdub")
    files: tuple[AudioFile, ...] = holds("file", "files file", implied="implied_folder")
