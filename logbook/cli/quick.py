"""Reading plain option values without loading a validation library.

Recent releases of Typer hand every value to pydantic, which takes longer to import than a quick
command takes altogether. Text, numbers, paths and lists of them need none of that: a parameter of
such a type gets a reader of our own. Other types, and older releases, keep theirs.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any, get_args, get_origin

import typer

_LARGEST = 999_999_999


def _number(kind: type, word: str) -> Callable[[Any], Any]:
    def read(value: Any) -> Any:
        try:
            number = kind(value)
        except (TypeError, ValueError, OverflowError):
            raise typer.BadParameter(f'"{value}" is not {word}') from None
        # Neither endless nor "nan", and nothing that a database could not count.
        if not -_LARGEST <= number <= _LARGEST:
            raise typer.BadParameter(f'"{value}" is not {word} that can be used')
        return number

    return read


def _yes_no(value: Any) -> bool:
    if isinstance(value, bool):
        return value
    word = str(value).strip().casefold()
    if word in {"1", "true", "t", "yes", "y", "on"}:
        return True
    if word in {"0", "false", "f", "no", "n", "off", ""}:
        return False
    raise typer.BadParameter(f'"{value}" is neither yes nor no')


_READERS: dict[Any, Callable[[Any], Any]] = {
    str: str,
    bool: _yes_no,
    int: _number(int, "a whole number"),
    float: _number(float, "a number"),
    Path: Path,
}


class _Plain:
    """A parameter's reader, with the one method that Typer calls.

    `usual` gives Typer's own reader, for types that are not plain.
    """

    def __init__(self, descriptor: Any, usual: Callable[[], Any]) -> None:
        annotation, info = descriptor.annotation, descriptor.parameter_info
        self.several = get_origin(annotation) is list
        kind = get_args(annotation)[0] if self.several else annotation
        self.read = None if _is_checked(info) else _READERS.get(kind)
        self.bounds = (getattr(info, "min", None), getattr(info, "max", None))
        self.usual = usual

    def coerce(self, value: Any, param: Any, ctx: Any) -> Any:
        """Return the value as its type; raises BadParameter."""
        if value is None:
            return () if self.several else None
        if self.read is None:
            return self.usual().coerce(value, param=param, ctx=ctx)
        return [self.one(each) for each in value] if self.several else self.one(value)

    def one(self, value: Any) -> Any:
        """Read one value and hold it to its bounds."""
        assert self.read is not None
        result = self.read(value)
        low, high = self.bounds
        if (low is not None and result < low) or (high is not None and result > high):
            between = f"{low} or more" if high is None else f"{low} to {high}"
            raise typer.BadParameter(f"{value} is out of range, write {between}")
        return result


def _is_checked(info: Any) -> bool:
    """Whether Typer is asked to check more than the type."""
    asked = ("exists", "resolve_path", "writable", "parser", "click_type")
    return any(getattr(info, each, None) for each in asked)


def quicken(command: Any) -> Any:
    """Give all plain parameters of a command and its subcommands a quick reader."""
    usual = command.get_params

    def get_params(ctx: Any) -> Any:
        """Return the parameters, `--help` with them, which is only made when asked for."""
        params = usual(ctx)
        for param in params:
            _quicken(param)
        return params

    command.get_params = get_params
    for each in getattr(command, "commands", {}).values():
        quicken(each)
    return command


def _quicken(param: Any) -> None:
    descriptor = getattr(param, "type_descriptor", None)
    if descriptor is not None and not isinstance(param.get_runtime_param, _Quick):
        param.get_runtime_param = _Quick(_Plain(descriptor, param.get_runtime_param))


class _Quick:
    """What stands in for a parameter's own way to its reader."""

    def __init__(self, plain: _Plain) -> None:
        self.plain = plain

    def __call__(self) -> _Plain:
        return self.plain
