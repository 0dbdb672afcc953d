"""Where an arrangement goes from what was recorded: the key, how far it is, and the form."""

from __future__ import annotations

from typing import NamedTuple

from logbook.arranging.adaptations import signed_steps
from logbook.arranging.charts import move_name
from logbook.arranging.form import ArrangedForm
from logbook.theory.keys import Key


class Moved(NamedTuple):
    """Where the arrangement goes: the key it arrives in, how far, and the form.

    `key` is None where the record's is not known; `steps` are semitones, -6 to 5.
    """

    old_key: Key | None
    key: Key | None
    steps: int
    form: ArrangedForm

    @property
    def changes_names(self) -> bool:
        """Whether chords are called something else, be it only spelled otherwise."""
        return self.old_key != self.key or bool(self.steps)

    def name(self, text: str) -> str:
        """A chord name as it is called where the arrangement goes."""
        if not self.changes_names:
            return text
        return move_name(text, self.steps, self.key, self.old_key)


def steps_between(old: Key | None, new: Key | None) -> int:
    """How far a key is from another, -6 to 5 semitones; 0 where one is not known."""
    if old is None or new is None:
        return 0
    return signed_steps(new.pitch_class - old.pitch_class)
