"""What becomes of one file that was read: new, moved, changed, or known, and where it hangs.

Identity is the digest of the sound. A file of the log whose sound turns up at another place has
moved there, unless it is still where it was: then the other is a copy. Other sound at a known
place is a changed file. Nothing here writes to the log or to a disk; `importing` does.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from logbook.audio.facts import AudioInfo
from logbook.importing.file_facts import record_of
from logbook.importing.file_index import FileEntry, FileIndex
from logbook.importing.matching import EVIDENCE_WORDS, Matcher, TakeEntry, TakeMatch
from logbook.importing.placing import Clock, Placed, time_of_day
from logbook.importing.same_recording import Recordings
from logbook.records import AudioFile

NEW, MENTIONED, MOVED, RETAGGED, CHANGED, COPY = (
    "new",
    "mentioned",
    "moved",
    "retagged",
    "changed",
    "copy",
)
REFUSED, ASSIGNED = "refused", "assigned"


@dataclass(frozen=True, kw_only=True, slots=True)
class FileOutcome:
    """What became of one file, in words.

    `what` is new, mentioned (the log named it, and now knows it), moved, retagged, changed, copy,
    assigned (known before, hung on its take now) or refused. The names are empty where it hangs
    on nothing; `why` says why it is refused or not attached. `take` is None for a finished part
    or a mix.
    """

    file: str
    what: str
    song: str = ""
    version: str = ""
    part: str = ""
    take: int | None = None
    session: str = ""
    microphone: str = ""
    by: tuple[str, ...] = ()
    new_take: bool = False
    bars: str = ""
    seconds: float | None = None
    kind: str = ""
    remarks: tuple[str, ...] = ()
    why: str = ""
    pattern: str = ""

    @property
    def hangs(self) -> bool:
        """Whether it hangs on something."""
        return bool(self.song)


@dataclass(kw_only=True, slots=True, eq=False)
class Filed:
    """One file as it is to be written: its entry, its facts, and what it hangs on.

    `aside` is the file of the log whose place it takes, which is called `aside_path` from then
    on; `hang` says whether its owner is new.
    """

    entry: FileEntry
    record: AudioFile
    outcome: FileOutcome
    take: TakeEntry | None = None
    hang: bool = False
    aside: FileEntry | None = None
    aside_path: str = ""
    other_sound: bool = False
    bars: str = ""
    clock: str = ""


@dataclass(kw_only=True, slots=True)
class Filer:
    """What files are filed with: the log's files and takes, and the clock that places them."""

    root: str
    folder_name: str
    index: FileIndex
    matcher: Matcher
    clock: Clock
    hung: dict[int, TakeEntry] = field(default_factory=dict)
    recordings: Recordings = field(init=False)

    def __post_init__(self) -> None:
        self.recordings = Recordings(self.index.entries)

    def waits(self, name: str, info: AudioInfo) -> bool:
        """Whether to file a file only when all others are: there was another sound at its place.

        What was there may turn up elsewhere, and only then it is clear that it has moved.
        """
        entry = self.index.by_place.get(self.place(name))
        if entry is None or entry.digest in ("", info.digest):
            return False
        entry.left = True
        return True

    def place(self, name: str) -> str:
        """The place of a name inside the folder."""
        return f"{self.root.rstrip('/')}/{name}"

    def file(self, name: str, info: AudioInfo) -> Filed:
        """Say what becomes of a file that was read; the index has it from now on."""
        digest = info.digest or ""
        match = self.matcher.match(info, self.folder_name, name)
        entry = self.index.by_place.get(self.place(name))
        aside = None
        remarks: list[str] = []
        twins = self._twins(entry, digest)
        if entry is not None and entry.digest == digest:
            what = RETAGGED
        elif entry is not None and not entry.digest:
            what = MENTIONED
        elif (moved := self.index.that_left(digest, name)) is not None:
            aside, entry, what = entry, moved, MOVED
            remarks.append(f"it was {moved.path} before")
            if aside is not None:
                self.index.put_aside(aside)
                remarks.append(f"it lies where {aside.path} says another file was")
            self.index.move(entry, self.root, name)
        elif entry is not None:
            what = CHANGED
            remarks.append("its sound is not what it was")
        else:
            entry, what = self._mentioned(name, digest, remarks)
        if entry is None:
            entry = FileEntry(
                folder=self.root,
                path=name,
                codec=info.codec,
                frames=info.frames,
                rate_hz=info.rate_hz,
            )
            if not twins:
                twins = self.recordings.twins(entry)
            self.recordings.add(entry)
            what = COPY if twins else NEW
        other_sound = what == CHANGED
        record = record_of(info, folder=entry.folder, path=entry.path, microphone=match.microphone)
        if what in (NEW, COPY):
            entry.digest, entry.size, entry.modified = digest, info.size_bytes, info.modified_ns
            self.index.add(entry)
        else:
            self.index.learn(entry, digest, info.size_bytes, info.modified_ns)
        filed = Filed(
            entry=entry,
            record=record,
            outcome=FileOutcome(file=name, what=what),
            aside=aside,
            aside_path=aside.path if aside is not None else "",
            other_sound=other_sound,
        )
        remarks.extend(info.warnings)
        self._hang(filed, match, twins if what == COPY else (), remarks)
        filed.outcome = self._outcome(filed, info, match, name, what, remarks)
        return filed

    def hang_known(self, entry: FileEntry, record: AudioFile, info: AudioInfo) -> Filed | None:
        """Hang a file that the log knew already, None where it still cannot be told."""
        match = self.matcher.match(info, self.folder_name, self._name(entry))
        if match.take is None:
            return None
        if match.microphone:
            record = replace(record, microphone=match.microphone)
        filed = Filed(
            entry=entry, record=record, outcome=FileOutcome(file=entry.path, what=ASSIGNED)
        )
        remarks: list[str] = []
        twins = self._twins(entry, entry.digest) or self.recordings.twins(entry)
        self._hang(filed, match, twins, remarks)
        if not filed.hang:
            return None
        filed.outcome = self._outcome(filed, info, match, self._name(entry), ASSIGNED, remarks)
        return filed

    def _twins(self, entry: FileEntry | None, digest: str) -> list[FileEntry]:
        """A few other files of the log with this sound."""
        same = self.index.by_digest.get(digest, ()) if digest else ()
        return [each for each in same[:8] if each is not entry]

    def _name(self, entry: FileEntry) -> str:
        start = f"{self.root.rstrip('/')}/"
        return entry.place.removeprefix(start)

    def _mentioned(
        self, name: str, digest: str, remarks: list[str]
    ) -> tuple[FileEntry | None, str]:
        """The file that the log mentions by this path in another folder, and never read."""
        found = self.index.mentioned(name, digest)
        if len(found) > 1:
            remarks.append(f"the log mentions {len(found)} files of this name elsewhere")
        if len(found) != 1:
            return None, NEW
        self.index.move(found[0], self.root, name)
        return found[0], MENTIONED

    def _hang(
        self, filed: Filed, match: TakeMatch, twins: Sequence[FileEntry], remarks: list[str]
    ) -> None:
        """Hang a file on the take it was told to be, unless it is attached already."""
        entry, take = filed.entry, match.take
        if twins:
            same = "sound as" if twins[0].digest == entry.digest else "recording as"
            remarks.append(f"the same {same} {twins[0].path}")
        if take is not None and not entry.hangs and any(map(self._hangs, twins)):
            take = None
            remarks.append("one sound is attached once, and this is its copy")
        if entry.hangs:
            if take is not None and entry.take_id is not None and take.id != entry.take_id:
                remarks.append(
                    f"it stays attached as before, though it now says take {take.number}"
                )
            return
        if take is None:
            return
        self.matcher.keep(take)
        filed.take, filed.hang = take, True
        self.hung[id(entry)] = take

    def _hangs(self, entry: FileEntry) -> bool:
        """Whether a file attach-alls on anything, be it since this very batch."""
        return entry.hangs or id(entry) in self.hung

    def _outcome(
        self,
        filed: Filed,
        info: AudioInfo,
        match: TakeMatch,
        name: str,
        what: str,
        remarks: list[str],
    ) -> FileOutcome:
        """Put into words what becomes of a file, with where its clock places it."""
        entry = filed.entry
        take = filed.take or self.matcher.takes.get(entry.take_id or 0)
        song = version = part = session = ""
        placed = Placed()
        if take is not None:
            song, version, part, session = self.matcher.place_of(take)
            version_id = self.matcher.outline.parts[take.part_id].version_id
            placed = self.clock.place(version_id, info, take.bars)
            filed.bars = placed.bars if not take.bars else ""
            take.bars = take.bars or placed.bars
            began = time_of_day(info)
            filed.clock = began if not take.clock else ""
            take.clock = take.clock or began
        elif entry.part_id is not None:
            song, version, part = self.matcher.place_of_part(entry.part_id)
            placed = self.clock.compare(self.matcher.outline.parts[entry.part_id].version_id, info)
        elif entry.version_id is not None:
            line = self.matcher.outline.versions[entry.version_id]
            song, version = self.matcher.outline.songs[line.song_id], line.name
            placed = self.clock.compare(entry.version_id, info)
        return FileOutcome(
            file=name,
            what=what,
            song=song,
            version=version,
            part=part,
            take=take.number if take else None,
            session=session,
            microphone=match.microphone,
            by=tuple(EVIDENCE_WORDS.get(each, each) for each in match.by) if filed.hang else (),
            new_take=filed.hang and take is not None and take.id is None,
            bars=placed.start,
            seconds=float(info.duration_s),
            kind=f"{info.container} {info.codec}" if info.container != info.codec else info.codec,
            remarks=(*remarks, *match.remarks, *placed.remarks),
            why="" if song else match.why or (remarks[-1] if remarks else ""),
            pattern=match.pattern,
        )
