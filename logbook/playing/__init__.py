"""Sound made from the log: plucked strings, strokes of parts, comps joined from their takes.

Needs numpy, scipy, soundfile and av, the extra `listen`; ask `logbook.listening.extra.require`
first.
"""
