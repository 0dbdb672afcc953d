"""Which kind of instrument a text speaks of, and how texts are compared in a notebook line."""

from __future__ import annotations

import re
import unicodedata

from logbook.strings.instruments import KINDS

OTHER_INSTRUMENTS = (
    "voice", "vocal", "vocals", "vox", "drums", "percussion", "shaker", "tambourine", "piano",
    "organ", "keys", "synth", "pedal steel", "lap steel", "slide guitar", "fiddle", "violin",
    "viola", "cello", "double bass", "upright bass", "trumpet", "trombone", "horn", "sax",
    "saxophone", "clarinet", "flute", "whistle", "accordion", "harmonica", "dobro", "dulcimer",
    "harp", "strings", "choir", "backing vocals", "congas", "bongos", "cajon", "vibraphone",
    "marimba", "glockenspiel",
)  # fmt: skip


def fold(name: str) -> str:
    """A name without case and accents, for comparing."""
    spread = unicodedata.normalize("NFKD", name.casefold())
    return " ".join("".join(c for c in spread if not unicodedata.combining(c)).split())


def kind_in(text: str) -> str:
    """The kind of instrument a text speaks of ("the cedar guitar" is a guitar), or ""."""
    words = fold(text)
    kinds = sorted((*KINDS, *OTHER_INSTRUMENTS), key=len, reverse=True)
    return next((each for each in kinds if re.search(rf"\b{re.escape(each)}\b", words)), "")
