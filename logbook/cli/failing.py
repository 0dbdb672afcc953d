"""What went wrong, as one plain sentence on the error output."""

from __future__ import annotations

from contextlib import suppress

import typer

from logbook.cli.printing import remark
from logbook.plaintext import clean

_LONGEST_SENTENCE = 1200


def fail(*sentences: str, code: int = 2) -> int:
    """Print what went wrong on the error output, a line each, and return the exit code.

    A sentence that quotes pages of text is printed without its middle.
    """
    with suppress(OSError):
        remark("logbook: " + "\n".join(_without_middle(clean(each)) for each in sentences))
    return code


def _without_middle(sentence: str) -> str:
    half = _LONGEST_SENTENCE // 2
    if len(sentence) <= _LONGEST_SENTENCE:
        return sentence
    return f"{sentence[:half]} [...] {sentence[-half:]}"


def usage_sentence(error: typer.TyperException) -> str:
    """Return what is wrong with how a command was given, and where its help is."""
    message = " ".join(error.format_message().split()).rstrip(".")
    context = getattr(error, "ctx", None)
    path = context.command_path if context is not None else "logbook"
    return f"{message[:1].lower()}{message[1:]}; {path} --help says how"


def asks_for_help(error: typer.TyperException) -> bool:
    """Whether a group was given without a subcommand; then its help has been printed."""
    context = getattr(error, "ctx", None)
    if type(error).__name__ != "NoArgsIsHelpError" or context is None:
        return False
    remark(context.get_help())
    return True
