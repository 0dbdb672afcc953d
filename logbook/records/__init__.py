"""The log as plain data: what the database holds, with names where it holds row numbers.

Conventions
-----------
Every record is a frozen dataclass of plain values. A record stands inside the one it belongs
to (a take inside its part, a part inside its version), so only what belongs to nobody is
referred to by name: people, tunings, instruments, sessions. Text that has a grammar of its
own (a fret line, a bar range, a tempo) is kept as written in its canonical form; the room that
knows the grammar reads it when it is needed. Empty text means "not said", and so does None.
"""

from __future__ import annotations

from logbook.records.arrangements import (
    ArrangedPart,
    ArrangedSection,
    Arrangement,
    SetList,
    SetListEntry,
)
from logbook.records.deliverables import Deliverable
from logbook.records.files import AudioFile, Cue, FileCopy, HeardChord, HeardDouble, Measurement
from logbook.records.log import Log, Project, Track
from logbook.records.lyrics import Lyric
from logbook.records.melodies import Melody
from logbook.records.paper import Hours, InputChannel
from logbook.records.parts import (
    ChartEntry,
    Comp,
    CompPiece,
    Double,
    Overdub,
    Part,
    Pattern,
    PunchIn,
    Reused,
    Take,
    TechniqueNote,
    Voicing,
)
from logbook.records.people import Person, Role, Share
from logbook.records.places import Instrument, Session, Tuning
from logbook.records.recalls import Photograph, Recall
from logbook.records.remarks import Remark
from logbook.records.songs import FormSection, MeterChange, Song, TempoChange, Version
from logbook.records.votes import Vote

__all__ = [
    "ArrangedPart",
    "ArrangedSection",
    "Arrangement",
    "AudioFile",
    "ChartEntry",
    "Comp",
    "CompPiece",
    "Cue",
    "Deliverable",
    "Double",
    "FileCopy",
    "FormSection",
    "HeardChord",
    "HeardDouble",
    "Hours",
    "InputChannel",
    "Instrument",
    "Log",
    "Lyric",
    "Measurement",
    "Melody",
    "MeterChange",
    "Overdub",
    "Part",
    "Pattern",
    "Person",
    "Photograph",
    "Project",
    "PunchIn",
    "Recall",
    "Remark",
    "Reused",
    "Role",
    "Session",
    "SetList",
    "SetListEntry",
    "Share",
    "Song",
    "Take",
    "TechniqueNote",
    "TempoChange",
    "Track",
    "Tuning",
    "Version",
    "Voicing",
    "Vote",
]
