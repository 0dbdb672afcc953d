"""What a notebook line may say: one plain record a fact.

Conventions. `str(fact)` is a line that reads back as the same fact. Places in the form stay as
they were written ("1-16", "B", "B2"), because they are only known where the fact is applied.
Names are as typed; empty text is what was not said.
"""

from __future__ import annotations

from dataclasses import dataclass

from logbook.editing.takes import FINISHED
from logbook.notebook.lines.kinds import name_in_line, quoted_in_line


@dataclass(frozen=True, kw_only=True)
class SongSaid:
    """From here on it is about this song."""

    title: str

    def __str__(self) -> str:
        return f"song {self.title}"


@dataclass(frozen=True, kw_only=True)
class VersionSaid:
    """From here on it is about this version of the song."""

    name: str

    def __str__(self) -> str:
        return f"version {self.name}"


@dataclass(frozen=True, kw_only=True)
class PersonSaid:
    """Somebody, and what they do: `role` a word of the trade, or `instrument` what they play."""

    person: str
    role: str = ""
    instrument: str = ""

    def __str__(self) -> str:
        return f"{self.person}: {self.role or self.instrument}"


@dataclass(frozen=True, kw_only=True)
class SessionSaid:
    """The session the work is in; `date` is ISO."""

    name: str
    date: str = ""
    place: str = ""
    people: tuple[PersonSaid, ...] = ()

    def __str__(self) -> str:
        clauses = [f"session {self.name}"]
        clauses += [self.date] if self.date else []
        clauses += [f"at {self.place}"] if self.place else []
        return ", ".join([*clauses, *map(str, self.people)])


@dataclass(frozen=True, kw_only=True)
class Setting:
    """One thing said of the part: `field` its attribute (or "" for none), `value` as typed."""

    field: str
    value: str

    def __str__(self) -> str:
        if self.field == "counted":
            return f"frets from {self.value}"
        if self.field == "capo" and not self.value:
            return "no capo"
        if self.field == "heard":
            return "in the mix" if self.value == "yes" else "not in the mix"
        if self.field == "picked":
            return self.value
        if self.field == "shape_key":
            return f"shapes in {self.value}"
        if self.field in ("capo", "tuning", "pan"):
            return f"{self.field} {self.value}"
        return f"{self.field}: {self.value}"


@dataclass(frozen=True, kw_only=True)
class DoubleSaid:
    """Whether the part is doubled ("doubled", "not doubled", "unknown"), by which part, and why.

    With `of` it is the other way round: this part doubles that one.
    """

    state: str = ""
    why: str = ""
    by: str = ""
    of: str = ""
    pan: str = ""

    def __str__(self) -> str:
        if self.of:
            return f"doubles {self.of}" + (f": {self.pan}" if self.pan else "")
        if self.by:
            return f"doubled by {self.by}" + (f": {self.pan}" if self.pan else "")
        state = "doubling unknown" if self.state == "unknown" else self.state
        return state + (f": {self.why}" if self.why else "")


@dataclass(frozen=True, kw_only=True)
class OverdubSaid:
    """The part was added on top."""

    over: str = ""
    bars: str = ""

    def __str__(self) -> str:
        words = ["overdub", f"over {self.over}" if self.over else "", self.bars]
        return " ".join(filter(None, words))


PartFact = Setting | DoubleSaid | OverdubSaid


@dataclass(frozen=True, kw_only=True)
class PartSaid:
    """From here on it is about this part.

    `kind` is the kind of instrument where it was said, `only` the sections it plays in, `like` the
    part whose chords it has ("*" for the one at hand).
    """

    name: str
    instrument: str = ""
    kind: str = ""
    player: str = ""
    only: tuple[str, ...] = ()
    like: str = ""
    settings: tuple[PartFact, ...] = ()

    def __str__(self) -> str:
        head = f"part {self.name}"
        if self.kind:
            head += f" = {self.kind}"
        if self.instrument:
            head += f" on {self.instrument}"
        clauses = [head]
        clauses += [f"by {self.player}"] if self.player else []
        clauses += [f"{' and '.join(self.only)} only"] if self.only else []
        if self.like:
            clauses.append("same chords" + ("" if self.like == "*" else f" as {self.like}"))
        return ", ".join([*clauses, *map(str, self.settings)])


@dataclass(frozen=True, kw_only=True)
class TempoSaid:
    """A tempo, `text` as in "q=96" or "q=96>84", from `place` on ("33", "B"; "" for bar 1)."""

    text: str
    place: str = ""

    def __str__(self) -> str:
        text = self.text if "=" in self.text else f"tempo {self.text}"
        return f"{text} at {self.place}" if self.place else text


@dataclass(frozen=True, kw_only=True)
class MeterSaid:
    """A meter, from `place` on."""

    meter: str
    place: str = ""

    def __str__(self) -> str:
        return f"{self.meter} at {self.place}" if self.place else self.meter


@dataclass(frozen=True, kw_only=True)
class VersionField:
    """A plain thing said of the version: "key", "pickup", "a4" or "rate"."""

    field: str
    value: str

    def __str__(self) -> str:
        if self.field == "a4":
            return f"A4={self.value}"
        if self.field == "rate":
            return f"{self.value} Hz"
        return f"{'pick-up' if self.field == 'pickup' else self.field} {self.value}"


@dataclass(frozen=True, kw_only=True)
class SectionSaid:
    """One section of a form as it was said; without `bars` it is as long as its namesake."""

    name: str
    bars: int | None = None

    def __str__(self) -> str:
        return self.name if self.bars is None else f"{self.name} {self.bars} bars"


@dataclass(frozen=True, kw_only=True)
class FormSaid:
    """The form; `whole` says that it is all of it, otherwise it is added at the end."""

    sections: tuple[SectionSaid, ...]
    whole: bool = True

    def __str__(self) -> str:
        return ("form " if self.whole else "") + ", ".join(map(str, self.sections))


@dataclass(frozen=True, kw_only=True)
class VoicingSaid:
    """One chord as fingered, or its notes; without a `label` it is called after what sounds."""

    label: str
    frets: str
    pitches: str = ""
    counted: str = ""
    fingers: str = ""
    avoid: str = ""
    ring: str = ""
    ornaments: str = ""

    def __str__(self) -> str:
        clauses = [f"{self.label} {self.frets or self.pitches}".strip()]
        clauses += [f"from {self.counted}"] if self.counted else []
        for word in ("fingers", "avoid", "ring"):
            said = getattr(self, word)
            clauses += [f"{word} {said.replace(',', '')}"] if said else []
        clauses += [f"with {self.ornaments}"] if self.ornaments else []
        return ", ".join(clauses)


@dataclass(frozen=True, kw_only=True)
class VoicingsSaid:
    """Several chords in one line."""

    voicings: tuple[VoicingSaid, ...]

    def __str__(self) -> str:
        return ", ".join(map(str, self.voicings))


@dataclass(frozen=True, kw_only=True)
class ChartSaid:
    """What is played at `place` (a section or bars), a text for each bar as a chart line has it."""

    place: str
    bars: tuple[str, ...]

    def __str__(self) -> str:
        plain = all(bar and " " not in bar for bar in self.bars)
        return f"{self.place}: " + (" " if plain else " | ").join(self.bars)


@dataclass(frozen=True, kw_only=True)
class PatternSaid:
    """What the picking hand does; `at` the sections it is played in, `grid` as typed or ""."""

    strokes: str
    label: str = ""
    grid: str = ""
    feel: str = ""
    at: tuple[str, ...] = ()

    def __str__(self) -> str:
        text = f"{self.label}: {self.strokes}" if self.label else self.strokes
        text += f" on {' and '.join(self.at)}" if self.at else ""
        text += f", in {self.grid}" if self.grid else ""
        return text + (f", {self.feel}" if self.feel else "")


@dataclass(frozen=True, kw_only=True)
class PunchSaid:
    """Bars of a take recorded over."""

    bars: str
    why: str = ""
    number: int = 0

    def __str__(self) -> str:
        said = f"punch {self.bars}" + (f" pass {self.number}" if self.number else "")
        return said + (f" {self.why}" if self.why else "")


@dataclass(frozen=True, kw_only=True)
class TakeSaid:
    """A take; without a `number` it is the next one. What is not said stays as it was.

    With `band` it is a pass of every part that played.
    """

    number: int = 0
    result: str = ""
    bars: str = ""
    note: str = ""
    punches: tuple[PunchSaid, ...] = ()
    files: tuple[str, ...] = ()
    band: bool = False

    def __str__(self) -> str:
        head = f"t{self.number}" if self.number else "take"
        head = f"band {head}" if self.band else head
        clauses = [" ".join(filter(None, (head, self.result, self.bars)))]
        clauses += [*map(str, self.punches), *(f"file {each}" for each in self.files)]
        return "; ".join([*clauses, *([f"note {self.note}"] if self.note else [])])


@dataclass(frozen=True, kw_only=True)
class PieceSaid:
    """One edit decision: `source` bars of a take ("" for all of it), at bar `at` ("" in place).

    `version` and `part` say where the take lies, when not in the part itself. `file` names a
    finished file instead of a take, and `take` is 0 then.
    """

    take: int
    source: str = ""
    at: str = ""
    session: str = ""
    crossfade_ms: str = ""
    version: str = ""
    part: str = ""
    file: str = ""

    def __str__(self) -> str:
        if self.file:
            said = self.file if self.file in FINISHED else f"file {quoted_in_line(self.file)}"
        else:
            said = f"t{self.take}" + (f"/{name_in_line(self.session)}" if self.session else "")
        if self.version or self.part:
            said += f" of {name_in_line(self.version)}" + (
                f"/{name_in_line(self.part)}" if self.part else ""
            )
        return " ".join(
            filter(
                None,
                (
                    said,
                    self.source,
                    f"at {self.at}" if self.at else "",
                    f"xfade {self.crossfade_ms}ms" if self.crossfade_ms else "",
                ),
            )
        )


@dataclass(frozen=True, kw_only=True)
class CompSaid:
    """The edit decisions of the part, all of them; `times` plays the last piece on."""

    pieces: tuple[PieceSaid, ...]
    name: str = ""
    times: int = 1

    def __str__(self) -> str:
        head = f"comp {self.name}: " if self.name else "comp "
        return head + ", ".join(map(str, self.pieces)) + (f" x{self.times}" * (self.times > 1))


@dataclass(frozen=True, kw_only=True)
class NoteSaid:
    """A remark that belongs somewhere: `about` "bars" (of the part), "part", "song", "session",
    "version" or "words" (what is sung in a section)."""

    text: str
    about: str = "part"
    place: str = ""

    def __str__(self) -> str:
        if self.about == "bars":
            return f"note {self.place}: {self.text}"
        if self.about == "words":
            return f"lyric {self.place}: {self.text}"
        return f"{self.about} note: {self.text}"


@dataclass(frozen=True, kw_only=True)
class EntrySaid:
    """An entry in the words of the session file: a melody's phrase, where the part is silent
    ("tacet"), a vote, hours or an input."""

    noun: str
    text: str

    def __str__(self) -> str:
        return f"{self.noun} {self.text}"


@dataclass(frozen=True, kw_only=True)
class Several:
    """Several short facts in one line."""

    facts: tuple[PartFact | TempoSaid | MeterSaid | VersionField, ...]

    def __str__(self) -> str:
        return ", ".join(map(str, self.facts))


Fact = (
    SongSaid
    | VersionSaid
    | SessionSaid
    | PersonSaid
    | PartSaid
    | Setting
    | DoubleSaid
    | OverdubSaid
    | TempoSaid
    | MeterSaid
    | VersionField
    | FormSaid
    | VoicingsSaid
    | ChartSaid
    | PatternSaid
    | TakeSaid
    | CompSaid
    | NoteSaid
    | EntrySaid
    | Several
)
"""Anything one line may say."""
