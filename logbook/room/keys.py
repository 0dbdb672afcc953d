"""Which key does what in the room, as it is or as a file says.

A key file is TOML: an action and the key or keys that do it, `keeper = ["k", "f5"]`. Keys are
called as Textual calls them (letters, digits, `space`, `enter`, `f1`, `left`, `ctrl+k` ...), so
that a foot pedal that sends keys works. An action that the file does not name keeps its key.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from logbook.errors import LogbookError
from logbook.names import closest

ACTIONS: Mapping[str, tuple[tuple[str, ...], str]] = {
    "keeper": (("k",), "keeper"),
    "complete": (("c",), "complete"),
    "incomplete": (("i",), "incomplete"),
    "false_start": (("f",), "false start"),
    "reject": (("r",), "reject"),
    "undo": (("u", "backspace"), "undo"),
    "note": (("n", "enter"), "note or line"),
    "punch": (("p",), "punch-in"),
    "mark": (("m", "space"), "mark"),
    "next_part": (("tab", "right"), "next part"),
    "previous_part": (("shift+tab", "left"), "part before"),
    "whole": (("0",), "whole song"),
    **{f"section_{digit}": ((str(digit),), f"section {digit}") for digit in range(1, 10)},
    "file": (("o",), "log offered file"),
    "hear": (("h",), "hear last take"),
    "hear_chord": (("v",), "hear this chord"),
    "accept": (("y",), "accept what was heard"),
    "help": (("question_mark",), "keys"),
    "quit": (("q",), "leave"),
}
"""Every action with its usual keys and what the screen calls it."""

Keys = dict[str, tuple[str, ...]]


def usual_keys() -> Keys:
    """The keys of every action where no file says otherwise."""
    return {action: keys for action, (keys, _) in ACTIONS.items()}


def read_keys(path: Path) -> Keys:
    """The keys of every action as a file says them.

    Raises LogbookError for a file that cannot be read, an action that does not exist, a key that
    does two things.
    """
    try:
        table: dict[str, Any] = tomllib.loads(path.read_text(encoding="utf-8"))
    except OSError as error:
        raise LogbookError(f"{path} cannot be read ({error.strerror})", "name a key file") from None
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise LogbookError(
            f"{path} is not TOML ({error})", 'write it as in keeper = ["k"]'
        ) from None
    keys = usual_keys()
    for action, given in table.items():
        if action not in ACTIONS:
            near = closest(action, ACTIONS) or list(ACTIONS)[:5]
            raise LogbookError(f'{path}: nothing is called "{action}"', f"use {', '.join(near)}")
        listed = [given] if isinstance(given, str) else given
        if not isinstance(listed, list) or not all(isinstance(key, str) and key for key in listed):
            raise LogbookError(
                f"{path}: {action} has no key", f'write it as in {action} = ["f5", "space"]'
            )
        keys[action] = tuple(listed)
    _check_once(path, keys, set(table))
    return keys


def _check_once(path: Path, keys: Keys, given: set[str]) -> None:
    """See that no key does two things; a key that the file gives away is its own from then on."""
    owners: dict[str, str] = {}
    for action in sorted(given):
        for key in keys[action]:
            if key in owners:
                raise LogbookError(
                    f'{path}: the key "{key}" is given to {owners[key]} and to {action}',
                    "give it to one of them",
                )
            owners[key] = action
    for action in keys.keys() - given:
        keys[action] = tuple(key for key in keys[action] if key not in owners)
