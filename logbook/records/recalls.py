"""What brings a sound back: settings as lines, and photographs kept by digest."""

from __future__ import annotations

from dataclasses import dataclass, field

from logbook.records.fields import needed, noted, written


@dataclass(frozen=True, kw_only=True)
class Recall:
    """How something stood when a part or a whole session sounded as it did.

    `device` is what is set (an amplifier, a pedal, a preamp), `settings` how, knob by knob in
    words; `used_for` tells two settings of one device apart ("chorus").
    """

    device: str = field(metadata=needed("what is set", "small combo", "name"))
    settings: str = written("", "how it is set", "gain 4, treble 6", "text")
    used_for: str = written("", "what it was set so for", "the chorus", "text", key="for")
    notes: str = noted()


@dataclass(frozen=True, kw_only=True)
class Photograph:
    """A photograph of how something was set up, known by the digest of its file.

    `path` is whole where the folder it counts from is known; `device` names what it shows. An
    empty `digest` means that nobody has looked at the file yet.
    """

    path: str = field(metadata=needed("where it is", "photos/combo.jpg", "_photo_path"))
    device: str = written("", "what it shows", "small combo", "text", key="of")
    caption: str = written("", "what to look at", "knobs after the second chorus", "text")
    digest: str = written("", "digest of the file", "sha256:...", "text")
