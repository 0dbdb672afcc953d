"""The names of the nouns' commands, apart from their declarations so that help comes at once.

A test holds this list to `logbook.notebook.nouns`.
"""

from __future__ import annotations

NOUN_COMMANDS: dict[str, tuple[str, str]] = {
    # command: (noun, what it is)
    "song": ("song", "Compositions: title, work code"),
    "version": ("version", "Recorded forms of a song: key, tempo, meter, form"),
    "part": ("part", "What is played on a version, by whom and on what"),
    "voicing": ("voicing", "Chords as fingered in a part"),
    "pattern": ("pattern", "What the picking hand, or a drummer, does"),
    "chart": ("chart-entry", "Which voicing falls where"),
    "melody": ("melody", "What a part plays or sings note by note"),
    "comp": ("comp", "The edit decisions of a part"),
    "piece": ("piece", "One edit decision of a comp"),
    "vote": ("vote", "What people thought of takes, and the comp sheet"),
    "punch-in": ("punch-in", "Bars of a take recorded over"),
    "reused": ("reused", "Bars of a part that are repeated elsewhere"),
    "double": ("double", "Parts that double another"),
    "overdub": ("overdub", "Parts added on top"),
    "technique-note": ("technique-note", "Remarks on how a part is played"),
    "section": ("section", "Sections of a version's form"),
    "lyric": ("lyric", "The words of a version, line by line"),
    "meter": ("meter", "Meters of a version, and where they change"),
    "tempo": ("tempo", "Tempos of a version, and where they change"),
    "share": ("share", "Writers' and publishers' shares of a song"),
    "role": ("role", "Who did what on a song, version, session or part"),
    "person": ("person", "Everybody the log names"),
    "instrument": ("instrument", "Instruments: strings, scale length, usual tuning"),
    "tuning": ("tuning", "Open pitches of the strings, by name"),
    "session": ("session", "Days and places of work"),
    "input": ("input", "Input lists: what comes in on which channel of a session"),
    "hours": ("hours", "Who worked when, with breaks, and the day sheet"),
    "recall": ("recall", "How amplifiers, pedals and preamps were set, with photographs"),
    "photograph": ("photograph", "Photographs of settings"),
    "remark": ("remark", "Notebook lines that could not be read yet"),
    "file": ("file", "Audio files and what they are attached to"),
    "project": ("project", "Releases"),
    "track": ("track", "Versions on a release"),
    "setlist": ("setlist", "Arrangements in the order they are played"),
    "setlist-entry": ("setlist-entry", "Songs of a set"),
    "deliverable": ("deliverable", "What leaves the house, and what is missing"),
    "arrangement": ("arrangement", "Live and lesson plans of a version"),
    "arranged-section": ("arranged-section", "Sections of an arrangement's form"),
    "arranged-part": ("arranged-part", "Who plays what in an arrangement"),
}
