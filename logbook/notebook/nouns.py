"""Every noun of the log, by its word: the one list that both doors go by.

A new noun is declared in its own `fields_` module and named here once.
"""

from __future__ import annotations

from logbook.notebook.declare import Noun, members_of
from logbook.notebook.fields_arrangements import ARRANGED_PART, ARRANGED_SECTION, ARRANGEMENT
from logbook.notebook.fields_files import (
    CUE,
    FILE,
    FILE_COPY,
    HEARD_CHORD,
    HEARD_DOUBLE,
    implied_folder,
)
from logbook.notebook.fields_hands import PATTERN, VOICING
from logbook.notebook.fields_lyrics import LYRIC
from logbook.notebook.fields_melodies import MELODY
from logbook.notebook.fields_out import DELIVERABLE, PHOTOGRAPH, RECALL
from logbook.notebook.fields_paper import HOURS, INPUT
from logbook.notebook.fields_parts import (
    CHART_ENTRY,
    DOUBLE,
    OVERDUB,
    PART,
    REUSED,
    TECHNIQUE_NOTE,
)
from logbook.notebook.fields_people import PERSON, ROLE, SHARE
from logbook.notebook.fields_places import INSTRUMENT, SESSION, TUNING
from logbook.notebook.fields_releases import PROJECT, SETLIST, SETLIST_ENTRY, TRACK
from logbook.notebook.fields_remarks import REMARK
from logbook.notebook.fields_songs import METER, SECTION, SONG, TEMPO, VERSION
from logbook.notebook.fields_takes import COMP, PIECE, PUNCH_IN, TAKE
from logbook.notebook.fields_votes import VOTE
from logbook.records import Log

NOUNS: dict[str, Noun] = {
    noun.word: noun
    for noun in (
        PERSON,
        TUNING,
        INSTRUMENT,
        SESSION,
        INPUT,
        HOURS,
        RECALL,
        PHOTOGRAPH,
        SONG,
        SHARE,
        ROLE,
        VERSION,
        METER,
        TEMPO,
        SECTION,
        LYRIC,
        PART,
        TECHNIQUE_NOTE,
        VOICING,
        PATTERN,
        CHART_ENTRY,
        MELODY,
        TAKE,
        PUNCH_IN,
        COMP,
        PIECE,
        VOTE,
        REUSED,
        DOUBLE,
        OVERDUB,
        DELIVERABLE,
        ARRANGEMENT,
        ARRANGED_SECTION,
        ARRANGED_PART,
        PROJECT,
        TRACK,
        SETLIST,
        SETLIST_ENTRY,
        FILE,
        CUE,
        FILE_COPY,
        HEARD_CHORD,
        HEARD_DOUBLE,
        REMARK,
    )
}

LOG = Noun(
    word="log",
    plural="logs",
    record=Log,
    key=(),
    help="the whole log",
    members=members_of(Log, __name__),
)
"""The log itself, as the outermost noun: what stands at the top of a session file."""
