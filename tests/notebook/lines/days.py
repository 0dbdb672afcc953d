"""Days as they were scribbled, for the tests of notebook lines."""

from __future__ import annotations

from collections.abc import Sequence

from logbook.notebook.lines.where import Where
from logbook.records import FormSection, Part, Song, Version, Voicing

SALTPAN = """\
song Saltpan Road
part guitar on the cedar one, Oda
frets from nut
q=96
A 8 bars, B 8 bars, A, B
Bm7 x 2 4 2 3 2
Gmaj7 3 x 4 4 3 x
Em9 0 x 5 7 7 x
A: Bm7 Gmaj7 Bm7 Gmaj7 x2
B: Em9 . Gmaj7 Bm7 %4
D.x. Duxu on A
t1 false start
t2 keeper 1-32 first full pass
t2 punch 12 late on the change
comp t2 1-8, t2 9-16, t2 1-8 again at 17, t2 9-16 again at 25
not doubled: low strings blur
part high on the small one, B only, same chords
t1 keeper B
"""

WEIR = """\
session Weir House, 14 June 2026, at the boiler room, Mira Holt engineer
song Ferry Lights
version acoustic
key Eb
6/8
q.=58
pick-up 3 eighths
form intro 4, verse 8, chorus 8, verse, chorus
part mandolin on the old flat-top mandolin, Ívar Sæther
tuning mandolin
Eb: 0 1 3 3
Ab 1 1 3 4
Cm7 3 1 1 3
verse: Eb . Ab Cm7 x2
chorus: | Ab Cm7 | Eb | % | Ab | x2
strum: Dududu on verse and chorus
t1 incomplete intro bow in the mic
t2 complete 1-32
keeper 1-32
t3 punch 17 buzz
comp t3 1-32
doubled
panned left
part bass, Tor Wick
E1: 0 x x x
lyric verse: lamps go out along the quay
note 9: let the pair ring
song note: written on the night boat
t1 keeper all
"""

OTHERS: Sequence[str] = (
    "capo 2", "no capo", "tuning DADGAD", "drop D", "tuned to open G", "half step down",
    "pan left", "panned hard right", "frets from capo", "capo 2 on strings 1-5", "key of Eb minor",
    "in F#m", "6/8", "6/8 from 17", "96 bpm", "q.=72", "33 q=88", "33-36 q=96>84", "pick-up 1",
    "one beat pickup", "48 kHz", "A4=442", "Oda guitar", "guitar Oda", "Mira Holt: engineer",
    "session Harbour loft, today", "session Harbour loft, 3 May, Mira Holt engineer",
    "t3 keeper 1-16", "3 bars pickup", "keeper t3 1-16", "t3 1-16 keeper", "take k B", "k",
    "take 1-16 k", "t4 reject", "t5 incomplete 1-12", "t2 punched 12, 14-15 late",
    "t2: the one with the long ring", "t2 file gtr_02.wav; note nice", "punch t2 9 late",
    "comp t3 1-16 x2", "comp 1-8 t2, 9-16 t3", "comp rough: t1 1-16", "comp t2 A, t2 B at 17",
    "comp t2 1-8 at 17 xfade 10ms", "comp t2", "doubled by high", "doubled by high: hard right",
    "doubles high", "not doubled, low strings blur", "overdub", "overdub over high 17-24",
    "overdub B", "overdub on B",
    "overdub over high on B", "in the mix", "not in the mix", "chain: ribbon, preamp",
    "fingers", "with a pick",
    "shapes in G", "technique: palm near the bridge", "Fmaj7 x87900", "x87900 Fmaj7",
    "Am7: x02010, from capo", "Bm7 (high) x 7 9 7 8 7", "C#m7 x-4-6-4-5-4", "320003",
    "Bm7 x24232, Gmaj7 3x443x", "Em9 0 x 5 7 7 x fingers 0x1230", "Em9 0x577x, avoid 1, ring 5",
    "B: C F/A Gm7 %2", "A: Bm7 . | Gmaj7 | % | - x2", "5-8: Am F C G", "bridge: Am F C G",
    "A2: Bm7 Gmaj7 x4", "strum: D.DU .UDU on A, swing", "p i m a p i m a on B, in 1/8",
    "A 8, B 8, A, B", "form: intro 4, verse 8, chorus 8 x2", "8 bars C", "form A B A B", "A, B, A",
    "note 12: let it ring", "B: let the low string ring", "bar 12: late", "note nothing special",
    "session note: rain on the roof", "lyric B: the tide comes in", "capo 2, drop D, pan left",
    "melody B: E4/8 F# G4/4 | A4/2", "tune 12.3: B4", "tacet B, 33-40", "vote B t3 good",
    "vote Mira Holt: 9-12 take 2 best; phrase by the slip", "hours Mira Holt 10-18:30; break 1 h",
    "input 3 snare; mic small dynamic; track 3",
    "key F#m, q.=72, 6/8", "part high = guitar on the little one, B only", "part voice, José Núñez",
    "part low guitar by Oda, same chords as guitar, capo 3, not doubled", "version live",
    "double bass Ivo Teller", "T7 FALSE START", "take 7 k 1-16 the 'one'", "swing it please",
)  # fmt: skip
"""Lines on their own; each reads where `AT_WORK` is, but for the last."""


def at_work() -> Where:
    """Somewhere in the middle of a day: a form of A, B, A, B and two parts."""
    form = tuple(
        FormSection(name=name, start=start, bars=8)
        for name, start in (("A", 1), ("B", 9), ("A", 17), ("B", 25))
    )
    voicings = (Voicing(label="Bm7", frets="x 2 4 2 3 2"),)
    parts = (Part(name="guitar", voicings=voicings), Part(name="high"))
    version = Version(name="album", form=form, parts=parts)
    return Where(
        song=Song(title="Saltpan Road", versions=(version,)),
        version="album",
        part="guitar",
        titles=("Saltpan Road",),
        today="2026-11-25",
    )
