"""Making a command or a group of them, with its examples."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

import typer
from typer.core import TyperGroup

from logbook.errors import LogbookError
from logbook.names import closest


def new_app(
    help: str, *, examples: Sequence[str] = (), default: str | None = None, single: bool = False
) -> typer.Typer:
    """Return an app for one command or a group of them, plain and without tracebacks.

    With `default` a group runs this subcommand where none is named: `logbook takes SONG` is then
    `logbook takes list SONG`. `examples` are printed below the help.
    """
    return typer.Typer(
        cls=_with_default(default),
        rich_markup_mode=None,
        pretty_exceptions_enable=False,
        add_completion=False,
        no_args_is_help=default is None and not single,
        help=help,
        epilog=examples_text(examples),
    )


def _with_default(default: str | None) -> type[TyperGroup]:
    class Group(TyperGroup):
        """A group that runs its default where no subcommand is named."""

        def parse_args(self, ctx: Any, args: list[str]) -> list[str]:
            # Nor where the shell asks what might follow.
            as_it_is = args[:1] == ["--help"] or (ctx.resilient_parsing and not args)
            if default and not as_it_is and (not args or args[0] not in self.commands):
                if args and not args[0].startswith("-") and not _takes_words(self, default):
                    self.resolve_command(ctx, args)
                args = [default, *args]
            return super().parse_args(ctx, args)

        def resolve_command(self, ctx: Any, args: list[str]) -> Any:
            if args[0] not in self.commands:
                raise LogbookError(
                    f'there is no command "{ctx.command_path} {args[0]}"',
                    did_you_mean(args[0], self.commands),
                )
            return super().resolve_command(ctx, args)

    return Group


def _takes_words(group: TyperGroup, name: str) -> bool:
    """Whether a command of the group takes more than options."""
    return any(each.param_type_name == "argument" for each in group.commands[name].params)


def examples(*lines: str) -> str:
    """Return the examples below a command's help, a line each."""
    return examples_text(lines)


def examples_text(lines: Sequence[str]) -> str:
    """Return the examples below a command's help, a line each."""
    if not lines:
        return ""
    heading = "Example:" if len(lines) == 1 else "Examples:"
    return "\n".join(["\b", heading, *(f"  {line}" for line in lines)])


def did_you_mean(word: str, known: Iterable[str]) -> str:
    """Return a remedy that names the closest known words."""
    names = list(known)
    close = closest(word, names)
    close += [name for name in names if word and name.startswith(word) and name not in close]
    if close:
        return f"did you mean {' or '.join(close[:4])}?"
    if len(names) <= 8:
        return f"there is {', '.join(names)}"
    return "logbook --help lists them all"
