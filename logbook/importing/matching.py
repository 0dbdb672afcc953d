"""Which take of the log a file is: what the file says of itself, held against what is logged.

Conventions. The file's own word (name, broadcast chunk, iXML chunk) goes before what the command
says, and both before where `here` is. Whatever could be meant two ways is not decided: `why` says
in a sentence what stands in the way, and the file stays detached.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from pathlib import PurePosixPath

from logbook.audio.facts import AudioInfo
from logbook.audio.guessing import Guess, NameEvidence, guess_among, known_names
from logbook.audio.patterns import (
    USUAL_PATTERNS,
    NamePattern,
    compile_pattern,
    same_name,
    several_patterns,
)
from logbook.errors import LogbookError
from logbook.importing.channels import named_tracks, spread
from logbook.importing.path_words import path_words
from logbook.importing.weighing_takes import microphone_beside
from logbook.store.file_rows import Outline, PartLine, SessionLine


@dataclass(kw_only=True, slots=True, eq=False)
class TakeEntry:
    """A take of the log, or one that is about to be added (`id` None until it is)."""

    part_id: int
    session_id: int | None
    number: int
    bars: str = ""
    clock: str = ""
    id: int | None = None


@dataclass(frozen=True, kw_only=True, slots=True)
class ImportOptions:
    """What the command said, as row numbers; `pattern` is text, empty for the usual ones.

    `here_song` and `here_session` are where `here` is.
    """

    song_id: int | None = None
    session_id: int | None = None
    pattern: str = ""
    here_song: int | None = None
    here_version: int | None = None
    here_session: int | None = None


@dataclass(frozen=True, kw_only=True, slots=True)
class TakeMatch:
    """Which take a file is (None: not told), by what, and if not, why not.

    `pattern` is the one that read its name, `microphone` which line of the take it is.
    """

    take: TakeEntry | None = None
    by: tuple[str, ...] = ()
    why: str = ""
    pattern: str = ""
    microphone: str = ""
    remarks: tuple[str, ...] = ()


@dataclass(slots=True)
class _Evidence:
    """What has been made out so far, and by what."""

    by: dict[str, None] = field(default_factory=dict)

    def add(self, words: Iterable[object]) -> None:
        self.by.update(dict.fromkeys(str(word) for word in words))


class _NoMatchError(Exception):
    """Ends the search; its text is the reason."""


class Matcher:
    """Tells takes on one outline of the log."""

    def __init__(self, outline: Outline, asked: ImportOptions) -> None:
        self.outline = outline
        self.asked = asked
        self.bad_patterns: list[str] = []
        self.patterns = self._patterns()
        song_parts = [
            part
            for part in outline.parts.values()
            if asked.song_id in (None, outline.versions[part.version_id].song_id)
        ]
        self._known = known_names(
            dict.fromkeys(name for part in song_parts for name in names_of(part)),
            outline.songs.values(),
            (version.name for version in outline.versions.values()),
            (session.name for session in outline.sessions.values()),
        )
        self._parts: dict[str, list[PartLine]] = {}
        for part in song_parts:
            for name in dict.fromkeys(map(same_name, names_of(part))):
                self._parts.setdefault(name, []).append(part)
        self._songs: dict[str, list[int]] = {}
        for song_id, title in outline.songs.items():
            self._songs.setdefault(same_name(title), []).append(song_id)
        self.takes: dict[int, TakeEntry] = {}
        self._takes_of: dict[int, list[TakeEntry]] = {}
        for line in outline.takes:
            entry = TakeEntry(
                id=line.id,
                part_id=line.part_id,
                session_id=line.session_id,
                number=line.number,
                bars=line.bars,
                clock=line.clock,
            )
            self.takes[line.id] = entry
            self._takes_of.setdefault(line.part_id, []).append(entry)

    def _patterns(self) -> list[NamePattern]:
        """The patterns to try: the one asked for, else the sessions' own and then the usual."""
        if self.asked.pattern:
            return [compile_pattern(text) for text in several_patterns(self.asked.pattern)]
        own: list[NamePattern] = []
        for session in self.outline.sessions.values():
            if session.file_pattern and self.asked.session_id in (None, session.id):
                try:
                    own += map(compile_pattern, several_patterns(session.file_pattern))
                except LogbookError as error:
                    self.bad_patterns.append(f"session {session.name}: {error}")
        usual = [compile_pattern(text) for text in USUAL_PATTERNS]
        return list({pattern.text: pattern for pattern in [*own, *usual]}.values())

    def may_tell(self, name: str, *, chunks: bool) -> bool:
        """Whether a file could tell anything: a part of the log stands in its name.

        With `chunks` it says more than its name does.
        """
        if chunks:
            return bool(self._known.parts)
        normal = same_name(name)
        return any(part in normal for part in self._known.parts)

    def match(self, info: AudioInfo, folder_name: str, name: str) -> TakeMatch:
        """Tell which take the file at `name`, inside the folder called `folder_name`, is.

        A take that the log does not have is made up, without an id, where all else is clear.
        """
        path = PurePosixPath(folder_name, name) if folder_name else PurePosixPath(name)
        found = guess_among(info, patterns=self.patterns, known=self._known, path=path)
        evidence = _Evidence()
        remarks = tuple(each for each in found.conflicts if each.startswith("date:"))
        microphone = found.mic.value if found.mic else ""
        try:
            take = self._take(found, evidence)
        except _NoMatchError as reason:
            return TakeMatch(
                why=str(reason), pattern=found.pattern, microphone=microphone, remarks=remarks
            )
        found_in = spread(named_tracks(info), self._beside(take))
        if len(found_in.parts) > 1:
            # Whoever confirms the proposal sees which channels are whose.
            named = listed([part.name for part, _ in found_in.parts])
            return TakeMatch(
                why=f"its channels are {named}; logbook import FOLDER --propose spreads them",
                pattern=found.pattern,
                remarks=remarks,
            )
        microphone = next((said for _, said in found_in.parts), "") or microphone
        microphone = microphone or self._microphone(path, take)
        if take.session_id == self.asked.session_id and found.date is not None:
            remarks += self._other_day(found.date.value)
        return TakeMatch(
            take=take,
            by=tuple(evidence.by),
            pattern=found.pattern,
            microphone=microphone,
            remarks=remarks,
        )

    def _beside(self, take: TakeEntry) -> list[PartLine]:
        """The parts of a take's version."""
        version_id = self.outline.parts[take.part_id].version_id
        return [each for each in self.outline.parts.values() if each.version_id == version_id]

    def _microphone(self, path: PurePosixPath, take: TakeEntry) -> str:
        """The words of a name that say a microphone, where no pattern had a place for one."""
        step = path_words(path.name)[0]
        song, _, part, _ = self.place_of(take)
        return microphone_beside(step, (song, part, str(take.number)))

    def keep(self, take: TakeEntry) -> None:
        """Remember a take that was made up, so that its other files attach-all on it too."""
        if take not in self._takes_of.setdefault(take.part_id, []):
            self._takes_of[take.part_id].append(take)

    def _take(self, found: Guess, evidence: _Evidence) -> TakeEntry:
        conflicts = [each for each in found.conflicts if not each.startswith("date:")]
        if conflicts:
            raise _NoMatchError("; ".join(conflicts))
        if found.part is None:
            raise _NoMatchError("neither its name nor its chunks tell a part of the log")
        evidence.add(found.part.evidence)
        if found.take is None:
            raise _NoMatchError(f"{found.part.value}, but nothing tells which take")
        number = found.take.value
        evidence.add(found.take.evidence)
        parts = self._of_song(found, self._parts[same_name(found.part.value)], evidence)
        if found.version is not None:
            parts = self._of_version(found.version.value, parts)
        dated = self._named(found) or self._dated(found)
        session_id = self.asked.session_id or (dated.id if dated else None)
        logged = [
            take
            for part in parts
            for take in self._takes_of.get(part.id, ())
            if take.number == number
        ]
        fitting = [take for take in logged if take.session_id == session_id] or [
            take for take in logged if session_id is None or take.session_id is None
        ]
        if len(fitting) == 1 and self._one_song(parts):
            return fitting[0]
        if fitting:
            return self._by_here(fitting, parts, evidence)
        if logged and dated and not self.asked.session_id:
            where = self._session_names(logged)
            raise _NoMatchError(
                f"{self._why_then(found, dated)}, but take "
                f"{number} of {found.part.value} is logged in {where}; say which with --session"
            )
        return self._new_take(parts, session_id, number, evidence)

    def _why_then(self, found: Guess, session: SessionLine) -> str:
        if found.session is None and found.date is not None:
            return f"dated {found.date.value}, as {session.name} is"
        return f"its name says {session.name}"

    def _of_song(
        self, found: Guess, parts: Sequence[PartLine], evidence: _Evidence
    ) -> list[PartLine]:
        if found.song is None:
            if self.asked.song_id:
                evidence.add(["--song"])
            return list(parts)
        evidence.add(found.song.evidence)
        song_ids = self._songs[same_name(found.song.value)]
        if self.asked.song_id and self.asked.song_id not in song_ids:
            asked = self.outline.songs[self.asked.song_id]
            raise _NoMatchError(
                f"song: the {found.song.evidence[0]} says {found.song.value}, --song says {asked}"
            )
        kept = [part for part in parts if self._song_of(part) in song_ids]
        if not kept:
            what = self._known.parts[same_name(parts[0].name)]
            raise _NoMatchError(f"{found.song.value} has no part {what} in the log")
        return kept

    def _of_version(self, name: str, parts: Sequence[PartLine]) -> list[PartLine]:
        kept = [
            part
            for part in parts
            if same_name(self.outline.versions[part.version_id].name) == same_name(name)
        ]
        if not kept:
            raise _NoMatchError(f"{name} has no part {parts[0].name} in the log")
        return kept

    def _named(self, found: Guess) -> SessionLine | None:
        """The session that the name says."""
        if found.session is None:
            return None
        wanted = same_name(found.session.value)
        sessions = self.outline.sessions.values()
        return next(each for each in sessions if same_name(each.name) == wanted)

    def _dated(self, found: Guess) -> SessionLine | None:
        """The one session of the file's date."""
        if found.date is None:
            return None
        date = found.date.value
        covering = [
            each
            for each in self.outline.sessions.values()
            if each.date and each.date <= date <= (each.end_date or each.date)
        ]
        return covering[0] if len(covering) == 1 else None

    def _other_day(self, date: str) -> tuple[str, ...]:
        """What is to be said of a file of another day than the session that was asked for."""
        asked = self.outline.sessions.get(self.asked.session_id or 0)
        if asked is None or not asked.date or asked.date <= date <= (asked.end_date or asked.date):
            return ()
        return (f"dated {date}, and {asked.name} was on {asked.date}",)

    def _song_of(self, part: PartLine) -> int:
        return self.outline.versions[part.version_id].song_id

    def _one_song(self, parts: Iterable[PartLine]) -> bool:
        return len({self._song_of(part) for part in parts}) == 1

    def _by_here(
        self, takes: Sequence[TakeEntry], parts: Sequence[PartLine], evidence: _Evidence
    ) -> TakeEntry:
        """Several takes could be meant: the one where `here` is."""
        asked = self.asked
        kept = [
            take
            for take in takes
            if self._is_here(self.outline.parts[take.part_id])
            and (asked.here_session is None or take.session_id == asked.here_session)
        ]
        if len(kept) == 1 and (asked.here_song or asked.here_session):
            evidence.add(["here"])
            return kept[0]
        raise _NoMatchError(self._several(takes, parts))

    def _is_here(self, part: PartLine) -> bool:
        version = self.outline.versions[part.version_id]
        asked = self.asked
        if asked.here_song is None:
            return True
        return version.song_id == asked.here_song and asked.here_version in (None, version.id)

    def _several(self, takes: Sequence[TakeEntry], parts: Sequence[PartLine]) -> str:
        songs = list(dict.fromkeys(self._song_of(part) for part in parts))
        if len(songs) > 1:
            named = listed([self.outline.songs[each] for each in songs])
            return f"{named} have this part; say which with --song"
        versions = {self.outline.parts[take.part_id].version_id for take in takes}
        if len(versions) > 1:
            named = listed([self.outline.versions[each].name for each in sorted(versions)])
            return f"{named} have this take; say which with `logbook files attach`"
        return f"this take is logged in {self._session_names(takes)}; say which with --session"

    def _session_names(self, takes: Iterable[TakeEntry]) -> str:
        ids = dict.fromkeys(take.session_id for take in takes)
        return listed([self.outline.sessions[each].name if each else "no session" for each in ids])

    def _new_take(
        self, parts: Sequence[PartLine], session_id: int | None, number: int, evidence: _Evidence
    ) -> TakeEntry:
        """A take of a known part that nobody logged."""
        if len(parts) > 1:
            here = [part for part in parts if self._is_here(part)]
            if len(here) != 1 or self.asked.here_song is None:
                raise _NoMatchError(self._several_parts(parts, number))
            evidence.add(["here"])
            parts = here
        (part,) = parts
        sessions = self.outline.sessions
        if session_id is None and len(sessions) == 1:
            session_id = next(iter(sessions))
        elif session_id is None and self.asked.here_session is not None:
            session_id = self.asked.here_session
            evidence.add(["here"])
        elif session_id is None and sessions:
            used = {take.session_id for take in self._takes_of.get(part.id, ())}
            if len(used) != 1:
                raise _NoMatchError(
                    f"take {number} of {part.name} is not logged, and nothing tells its session; "
                    "name it with --session"
                )
            session_id = used.pop()
        return TakeEntry(part_id=part.id, session_id=session_id, number=number)

    def _several_parts(self, parts: Sequence[PartLine], number: int) -> str:
        if not self._one_song(parts):
            return self._several((), parts)
        named = listed([self.outline.versions[part.version_id].name for part in parts])
        return f"{named} have this part, and none has a take {number}; log it first"

    def place_of(self, take: TakeEntry) -> tuple[str, str, str, str]:
        """Return the names of a take's song, version, part and session."""
        song, version, part = self.place_of_part(take.part_id)
        session = self.outline.sessions[take.session_id].name if take.session_id else ""
        return song, version, part, session

    def place_of_part(self, part_id: int) -> tuple[str, str, str]:
        """Return the names of a part's song, version and the part itself."""
        part = self.outline.parts[part_id]
        version = self.outline.versions[part.version_id]
        return self.outline.songs[version.song_id], version.name, part.name


def names_of(part: PartLine) -> list[str]:
    """A part's name and what files call it too."""
    return [part.name, *(each.strip() for each in part.aliases.split(",") if each.strip())]


def listed(names: Sequence[str], most: int = 4) -> str:
    """Return "A, B and C", and how many more there are."""
    shown = list(names[:most])
    if len(names) > most:
        return f"{', '.join(shown)} and {len(names) - most} more"
    return shown[0] if len(shown) == 1 else f"{', '.join(shown[:-1])} and {shown[-1]}"


EVIDENCE_WORDS = {
    str(NameEvidence.FILE_NAME): "name",
    str(NameEvidence.BROADCAST): "broadcast chunk",
    str(NameEvidence.IXML): "iXML chunk",
    str(NameEvidence.TAGS): "tags",
}
"""What a table calls the evidence."""
