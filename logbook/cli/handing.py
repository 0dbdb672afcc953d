"""The options of a command that hands a sheet out, declared once: format, file, paper, JSON.

A command decorated with `handed_out` returns its sheet; the options, and what becomes of them, are
the decorator's:

    @app.command("list", epilog=examples("logbook hours"))
    @handed_out("a day sheet", *TABLE_SHEET)
    def list_hours(session: SessionOption = "") -> Sheet: ...

A form that cannot be written is refused before anything is read.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from inspect import Parameter, signature
from typing import TYPE_CHECKING, Annotated, Any, get_type_hints

from logbook.cli.forms import (
    EVERY_SHEET,
    OpenOption,
    OutOption,
    PaperOption,
    form_of,
    form_option,
    hand_out,
)
from logbook.cli.options import JsonOption

if TYPE_CHECKING:
    from logbook.sheets.looks import Sheet

TABLE_SHEET = (*EVERY_SHEET, "csv")
"""The forms of a sheet that is a table as well."""


def handed_out(what: str, *forms: str) -> Callable[[Callable[..., Sheet]], Callable[..., None]]:
    """Give a command that makes a sheet the options to hand it out; `what` names the sheet."""

    def options() -> dict[str, tuple[Any, Any]]:
        return {
            "form": (Annotated[str, form_option(*forms)], ""),
            "out": (OutOption, None),
            "open_it": (OpenOption, False),
            "paper": (PaperOption, "A4"),
            "as_json": (JsonOption, False),
        }

    def with_options(make: Callable[..., Sheet]) -> Callable[..., None]:
        own = signature(make)
        # What the sheet is made from may be known to type checkers alone.
        bare = {name: each for name, each in make.__annotations__.items() if name != "return"}
        make.__annotations__ = bare
        hints = get_type_hints(make, include_extras=True)
        added = options()

        def run(**given: Any) -> None:
            said = {name: given.pop(name) for name in added}
            form = form_of(what, forms, said["form"], said["out"], as_json=said["as_json"])
            hand_out(make(**given), form, said["out"], open_it=said["open_it"], paper=said["paper"])

        parameters = [each.replace(annotation=hints[name]) for name, each in own.parameters.items()]
        parameters += [
            Parameter(name, Parameter.POSITIONAL_OR_KEYWORD, default=default, annotation=hint)
            for name, (hint, default) in added.items()
        ]
        command: Any = wraps(make)(run)
        del command.__wrapped__
        command.__signature__ = own.replace(parameters=parameters, return_annotation=None)
        command.__annotations__ = {each.name: each.annotation for each in parameters}
        done: Callable[..., None] = command
        return done

    return with_options
