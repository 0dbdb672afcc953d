"""What the processes of the killing tests do; `tests.warm` calls them by name."""

from __future__ import annotations

from logbook.cli.main import main
from logbook.importing import folder


def import_in_small_batches(*words: str) -> None:
    """Give a command with many small transactions, saying first that it is about to begin."""
    folder._BATCH_FILES = 7
    print("ready", flush=True)
    main(words)
