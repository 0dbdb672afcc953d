"""Words of the trade as file names have them: instruments, what they are cut to, microphones.

The tables are ours (common practice, no source).
"""

from __future__ import annotations

SHORT: dict[str, tuple[str, ...]] = {
    "guitar": ("gtr", "gt", "git", "guit"),
    "guitars": ("gtrs", "gtr"),
    "acoustic": ("ac", "aco", "acou", "acst"),
    "electric": ("el", "elec", "egtr"),
    "bass": ("bs", "bas"),
    "drums": ("dr", "drs", "drm", "drum"),
    "kick": ("kik", "kk", "bd"),
    "snare": ("sn", "snr", "sd"),
    "overhead": ("oh", "ovh"),
    "overheads": ("oh", "ohs", "ovh"),
    "vocal": ("vox", "voc", "vx", "lv", "ldvox"),
    "vocals": ("vox", "voc", "vx", "vocs"),
    "voice": ("vox", "voc", "vx"),
    "lead": ("ld", "lead"),
    "backing": ("bg", "b", "bk"),
    "harmony": ("harm", "hrm"),
    "high": ("hi",),
    "low": ("lo",),
    "violin": ("vln", "vn", "vl", "fid"),
    "fiddle": ("fid", "fdl"),
    "viola": ("vla", "va"),
    "cello": ("vc", "vlc", "clo"),
    "piano": ("pno", "pn", "pf"),
    "organ": ("org",),
    "keys": ("kbd", "keyb", "kb"),
    "keyboard": ("kbd", "keyb", "kb", "keys"),
    "trumpet": ("tpt", "trp", "tp"),
    "trombone": ("tbn", "trb"),
    "saxophone": ("sax",),
    "clarinet": ("cl", "clar"),
    "flute": ("fl",),
    "horn": ("hn", "hrn"),
    "mandolin": ("mand", "mdn", "mando", "man"),
    "banjo": ("bjo", "bj"),
    "ukulele": ("uke", "uk"),
    "percussion": ("perc", "prc"),
    "tambourine": ("tamb",),
    "shaker": ("shk",),
    "accordion": ("acc", "accord"),
    "harmonica": ("harp", "hmca"),
    "synth": ("syn", "synthesizer"),
    "double": ("dbl", "dub"),
    "rhythm": ("rhy", "rhtm", "ryth"),
    "slide": ("sld",),
    "twelve": ("12",),
    "tenor": ("ten", "tnr"),
    "baritone": ("bari", "bar"),
    "alto": ("alt",),
    "soprano": ("sop",),
    "contrabass": ("cb", "kb"),
    "bassoon": ("bsn", "fg"),
    "oboe": ("ob",),
    "mandola": ("mndla", "mdla"),
    "vibraphone": ("vib", "vibes"),
    "glockenspiel": ("glock", "glk"),
    "english": ("eng",),
}
"""How words of part names are usually cut short."""


MIC_WORDS = frozenset((
    "l", "r", "left", "right", "mid", "side", "m", "s", "in", "out", "inside", "outside", "top",
    "bottom", "btm", "under", "oh", "overhead", "overheads", "ovh", "room", "rooms", "rm", "amb",
    "ambience", "di", "amp", "cab", "mic", "ribbon", "condenser", "dynamic", "close", "far", "near",
    "spot", "kick", "kik", "snare", "sn", "snr", "hat", "hats", "hihat", "hh", "tom", "toms",
    "floor", "rack", "ride", "crash", "cymbal", "cym", "wide", "mono", "stereo", "body", "neck",
    "bd", "sd", "bridge", "bright", "dark", "front", "back", "rear", "high", "low", "talkback",
    "tb", "slate",
))  # fmt: skip
"""Words that say which line of a take a file is (common practice, no source)."""

SHORT_FORMS = frozenset(short for forms in SHORT.values() for short in forms)
"""All of the short forms."""

_MORE_INSTRUMENTS = (
    "mandocello", "bassoon", "oboe", "whistle", "pipes", "dulcimer", "zither", "harp", "sitar",
    "resonator", "steel", "bouzouki", "cittern", "lute", "oud", "charango", "marimba", "celesta",
    "xylophone", "harpsichord", "clavi", "tuba", "euphonium", "cornet", "flugelhorn",
    "piccolo", "recorder", "sax", "strings", "brass", "choir", "congas", "bongos", "cajon",
    "claps", "triangle", "cowbell", "tabla", "theremin", "melodica", "concertina", "viol",
)  # fmt: skip
_NO_INSTRUMENTS = frozenset((
    "kick", "snare", "overhead", "overheads", "double", "high", "low", "english",
))  # fmt: skip
_SHORT_BUT_COMMON = frozenset((
    "ac", "el", "gt", "bs", "vc", "vn", "vl", "va", "pn", "fl", "hn", "cl", "ld", "bg", "dr",
    "lv", "vx", "tp", "ob", "cb",
))  # fmt: skip
INSTRUMENT_WORDS: dict[str, frozenset[str]] = {}
"""What a word of a name says is played: the instruments and kinds that it may stand for."""
for _word in (*SHORT, *_MORE_INSTRUMENTS):
    if _word not in _NO_INSTRUMENTS:
        for _form in (_word, f"{_word}s", *SHORT.get(_word, ())):
            if len(_form) >= 3 or _form in _SHORT_BUT_COMMON:
                INSTRUMENT_WORDS[_form] = INSTRUMENT_WORDS.get(_form, frozenset()) | {_word}

KIT_WORDS = frozenset((
    "bd", "sd", "kick", "kik", "snare", "sn", "snr", "hat", "hats", "hh", "hihat", "tom", "toms",
    "oh", "overhead", "overheads",
))  # fmt: skip
EDITED_WORDS = frozenset((
    "comp", "comped", "mix", "rough", "master", "mastered", "instrumental", "stem", "stems",
    "playback", "edited",
))  # fmt: skip
"""Words of a file that was made from takes and is none itself."""
TAKE_WORDS = frozenset(("take", "tk", "t", "tak"))
NOISE_WORDS = frozenset((
    "audio", "wav", "takes", "final", "bounce", "edit", "mix", "new", "raw", "rec", "file",
))  # fmt: skip


def is_line_word(plain: str) -> bool:
    """Whether a word says which line of a take a file is: a microphone, a drum, a side of one."""
    sided = plain[-1:] in ("l", "r") and len(plain) > 2 and plain[:-1] in MIC_WORDS
    return sided or plain in MIC_WORDS | KIT_WORDS
