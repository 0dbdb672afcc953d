"""Which kind of instrument a text speaks of, and how texts are compared in a notebook line."""

from __future__ import annotations

import re
import unicodedata

from logbook.editing.takes import FINISHED
from logbook.strings.instruments import KINDS

OTHER_INSTRUMENTS = (
    "voice", "vocal", "vocals", "vox", "drums", "percussion", "shaker", "tambourine", "piano",
    "organ", "keys", "synth", "pedal steel", "lap steel", "slide guitar", "fiddle", "violin",
    "viola", "cello", "double bass", "upright bass", "trumpet", "trombone", "horn", "sax",
    "saxophone", "clarinet", "flute", "whistle", "accordion", "harmonica", "resonator", "dulcimer",
    "harp", "strings", "choir", "backing vocals", "congas", "bongos", "cajon", "vibraphone",
    "marimba", "glockenspiel",
)  # fmt: skip

# Words that mean something else between the pieces of a comp.
_GRAMMAR = frozenset({*FINISHED, "file", "then", "and", "again", "take", "bar", "bars", "xfade"})


def fold(name: str) -> str:
    """A name without case and accents, for comparing."""
    spread = unicodedata.normalize("NFKD", name.casefold())
    return " ".join("".join(c for c in spread if not unicodedata.combining(c)).split())


def kind_in(text: str) -> str:
    """The kind of instrument a text speaks of ("the cedar guitar" is a guitar), or ""."""
    words = fold(text)
    kinds = sorted((*KINDS, *OTHER_INSTRUMENTS), key=len, reverse=True)
    return next((each for each in kinds if re.search(rf"\b{re.escape(each)}\b", words)), "")


def name_in_line(name: str) -> str:
    """A name as a piece of a comp has it: in quotation marks, but for one plain word."""
    plain = re.fullmatch(r"[^\W\d_]{3,}", name) and name.lower() not in _GRAMMAR
    return name if plain else quoted_in_line(name)


def quoted_in_line(name: str) -> str:
    """A name in quotation marks, as a piece of a comp has it; nothing for none."""
    return '"' + re.sub(r'(["\\])', r"\\\1", name) + '"' if name else ""
