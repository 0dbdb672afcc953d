"""The commands of every noun: add, edit, list, show, remove, made from the declarations.

What a session file can say of a noun its options can say too, in the same words: both go through
the readers of `logbook.notebook`. `noun_app` makes the group of one noun; a module that has more
to say about its noun takes that group and adds to it.
"""

from __future__ import annotations

import inspect
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Annotated, Any

import typer

from logbook.cli.apps import new_app
from logbook.cli.completing import completing, fitting
from logbook.cli.noun_extra import KEEP, like_parameters
from logbook.cli.noun_owners import CHAINS, is_option, owner_options, owners_of
from logbook.cli.options import JsonOption, YesOption
from logbook.notebook.declare import Collection, Field, Noun
from logbook.notebook.nouns import NOUNS

_COMPLETED = ("song", "version", "part", "session", "setlist", "project")
_OWNER_HELP = {
    "song": "The song it belongs to, if not the current one.",
    "version": "The version it belongs to, if not the current one.",
    "part": "The part it belongs to, if not the current one.",
    "session": "The session, if not the current one.",
    "take": "The number of the take it belongs to.",
    "comp": "The comp it belongs to, if not the final one.",
    "arrangement": "The arrangement it belongs to.",
    "setlist": "The set list it belongs to.",
    "project": "The project it belongs to.",
}


def noun_app(word: str, *, default: str = "list", without: tuple[str, ...] = ()) -> typer.Typer:
    """Return the group of a noun's commands; `without` leaves some to the caller."""
    noun = NOUNS[word]
    app = new_app(
        f"{noun.plural[:1].upper()}{noun.plural[1:]}: {noun.help}.",
        examples=[f"logbook {command_name(word)} add {_example(noun)}"],
        default=default,
    )
    for name, make in _COMMANDS.items():
        if name not in without:
            make(app, noun)
    return app


def command_name(word: str) -> str:
    """Return the command of a noun: its word, but `chart` for chart entries."""
    return "chart" if word == "chart-entry" else word


# The five commands


def _add(app: typer.Typer, noun: Noun) -> None:
    def add(**given: Any) -> None:
        like, only = given.pop("like", ""), given.pop("only", None) or ()
        words, options, whose, as_json = _parted(noun, given)
        from logbook.cli import noun_work

        noun_work.add(
            noun, words, options, whose, str(Path.cwd()), as_json=as_json, like=like, only=only
        )

    own = [
        _words(noun),
        *_field_parameters(noun),
        *_owner_parameters(noun),
        *like_parameters(noun),
        _JSON,
    ]
    _set(add, own)
    add.__doc__ = f"Add {noun.a_word}: {noun.help}."
    _command(app, noun, "add", add, f"add {_example(noun)}")


def _edit(app: typer.Typer, noun: Noun) -> None:
    def edit(**given: Any) -> None:
        revision, keep = given.pop("if_revision", None), given.pop("keep", "")
        words, options, whose, as_json = _parted(noun, given)
        from logbook.cli import noun_work

        noun_work.edit(
            noun,
            " ".join(words),
            options,
            whose,
            str(Path.cwd()),
            revision,
            as_json=as_json,
            keep=keep,
        )

    if_revision = inspect.Parameter(
        "if_revision",
        inspect.Parameter.KEYWORD_ONLY,
        default=None,
        annotation=Annotated[
            int | None,
            typer.Option(
                "--if-revision",
                metavar="N",
                help="Only if nobody has changed it since revision N.",
            ),
        ],
    )
    parameters = [_name(noun), *_field_parameters(noun), *_owner_parameters(noun)]
    parameters += [KEEP] if noun.word == "part" else []
    _set(edit, [*parameters, if_revision, _JSON])
    edit.__doc__ = f"Change {noun.a_word}; without options, in the editor that EDITOR names."
    field = next((each for each in noun.fields if each.attributes[0] not in noun.key), None)
    option = f" {_option_example(field)}" if field else ""
    _command(app, noun, "edit", edit, f"edit {_example_name(noun)}{option}{_owner_example(noun)}")


def _list(app: typer.Typer, noun: Noun) -> None:
    def list_all(**given: Any) -> None:
        _, _, whose, as_json = _parted(noun, given)
        from logbook.cli import noun_show

        noun_show.list_all(noun, whose, as_json=as_json)

    _set(list_all, [*_owner_parameters(noun), _JSON])
    list_all.__doc__ = f"List all {noun.plural}{_of_owner(noun)}."
    _command(app, noun, "list", list_all, f"list{_owner_example(noun)}")


def _show(app: typer.Typer, noun: Noun) -> None:
    def show(**given: Any) -> None:
        words, _, whose, as_json = _parted(noun, given)
        from logbook.cli import noun_show

        noun_show.show(noun, " ".join(words), whose, as_json=as_json)

    _set(show, [_name(noun), *_owner_parameters(noun), _JSON])
    show.__doc__ = f"Show all that is logged of {noun.a_word}."
    _command(app, noun, "show", show, f"show {_example_name(noun)}{_owner_example(noun)}")


def _remove(app: typer.Typer, noun: Noun) -> None:
    def remove(**given: Any) -> None:
        yes = given.pop("yes", False)
        words, _, whose, _ = _parted(noun, given)
        from logbook.cli import noun_work

        noun_work.remove(noun, " ".join(words), whose, yes=yes)

    yes = inspect.Parameter(
        "yes", inspect.Parameter.KEYWORD_ONLY, default=False, annotation=YesOption
    )
    _set(remove, [_name(noun), *_owner_parameters(noun), yes])
    remove.__doc__ = (
        f"Remove {noun.a_word}, after saying what goes with it. `logbook undo` brings it back."
    )
    _command(
        app, noun, "remove", remove, f"remove {_example_name(noun)}{_owner_example(noun)} --yes"
    )


_COMMANDS: dict[str, Callable[[typer.Typer, Noun], None]] = {
    "add": _add,
    "edit": _edit,
    "list": _list,
    "show": _show,
    "remove": _remove,
}


def _command(
    app: typer.Typer, noun: Noun, name: str, function: Callable[..., None], example: str
) -> None:
    from logbook.cli.apps import examples

    app.command(name, epilog=examples(f"logbook {command_name(noun.word)} {example}"))(function)


# Parameters


_JSON = inspect.Parameter(
    "as_json", inspect.Parameter.KEYWORD_ONLY, default=False, annotation=JsonOption
)


def _set(function: Any, parameters: list[inspect.Parameter]) -> None:
    """Give a function the parameters that Typer shall see."""
    function.__signature__ = inspect.Signature(parameters)
    function.__annotations__ = {each.name: each.annotation for each in parameters}


def _words(noun: Noun) -> inspect.Parameter:
    """What is added: a name, a line, or a label and a line."""
    labelled = any(each.labelled for each in owners_of(noun.word).values())
    line = noun.line or _together(noun)
    if labelled and noun.line:
        what, help_line = f"NAME {noun.line.form}", f"Its name, and {noun.line.example!r}."
    elif line is not None and not _named(noun):
        what, help_line = "LINE", f"The line of a session file, as in {_line_example(noun)!r}."
    else:
        what, help_line = "NAME", "Its name."
    return _positional(what, help_line)


def _name(noun: Noun) -> inspect.Parameter:
    def complete(incomplete: str) -> list[str]:
        from logbook.cli.noun_show import names_for_completion

        return fitting(incomplete, names_for_completion(noun))

    return _positional("NAME", "Which one, by the beginning of its name.", complete)


def _positional(
    metavar: str, help_line: str, complete: Callable[[str], list[str]] | None = None
) -> inspect.Parameter:
    return inspect.Parameter(
        "words",
        inspect.Parameter.KEYWORD_ONLY,
        default=None,
        annotation=Annotated[
            list[str] | None,
            typer.Argument(
                metavar=metavar, help=help_line, show_default=False, autocompletion=complete
            ),
        ],
    )


def _field_parameters(noun: Noun) -> list[inspect.Parameter]:
    taken = set(owner_options(noun.word))
    parameters = [
        _option(each.key, each.option, each.help, each.example, flag=each.flag, many=each.many)
        for each in noun.fields
        if each.key not in taken
    ]
    for each in noun.collections:
        if is_option(each) and each.keys[0] not in taken:
            inner = NOUNS[each.noun]
            help_line = f"{inner.help}; give it again for each, and all of them together"
            option = "--" + each.keys[0].replace("_", "-")
            parameters.append(
                _option(each.keys[0], option, help_line, _line_example(inner), many=True)
            )
    return parameters


def _option(
    key: str, option: str, help_line: str, example: str, *, flag: bool = False, many: bool = False
) -> inspect.Parameter:
    text = f"{help_line[:1].upper()}{help_line[1:]}."
    if flag:
        annotation: Any = Annotated[
            bool | None,
            typer.Option(f"{option}/--no-{option[2:]}", help=text, show_default=False),
        ]
    else:
        kind: Any = list[str] | None if many else str | None
        text = f"{text[:-1]}, as in {example}."
        annotation = Annotated[
            kind, typer.Option(option, metavar="TEXT", help=text, show_default=False)
        ]
    return inspect.Parameter(
        f"field_{key}", inspect.Parameter.KEYWORD_ONLY, default=None, annotation=annotation
    )


def _owner_parameters(noun: Noun) -> list[inspect.Parameter]:
    fields = {each.key for each in noun.fields}
    return [
        inspect.Parameter(
            f"owner_{name}",
            inspect.Parameter.KEYWORD_ONLY,
            default="",
            annotation=Annotated[
                str,
                typer.Option(
                    f"--{name}",
                    metavar="NAME",
                    help=_OWNER_HELP[name],
                    show_default=False,
                    autocompletion=completing(name) if name in _COMPLETED else None,
                ),
            ],
        )
        for name in owner_options(noun.word)
        if name not in fields or name in ("part", "session")
    ]


def _parted(
    noun: Noun, given: Mapping[str, Any]
) -> tuple[list[str], dict[str, Any], dict[str, str], bool]:
    """Part what was given into words, fields, owners, and whether data is wanted."""
    options = {
        key.removeprefix("field_"): value
        for key, value in given.items()
        if key.startswith("field_") and value is not None and value != [] and value != ()
    }
    whose = {
        key.removeprefix("owner_"): value
        for key, value in given.items()
        if key.startswith("owner_") and value
    }
    return list(given.get("words") or []), options, whose, bool(given.get("as_json"))


# Words for the help


def _of_owner(noun: Noun) -> str:
    owners = [owner for owner in owners_of(noun.word) if owner != "log"]
    return f" of the current {owners[0]}" if owners and owners[0] in CHAINS else ""


def _named(noun: Noun) -> bool:
    """Whether a record is told by one plain name."""
    return len(noun.key) == 1 and noun.key[0] in ("name", "title", "label")


def _together(noun: Noun) -> Collection | None:
    return next((each for each in owners_of(noun.word).values() if each.read_all), None)


_LINES = {
    "section": "bridge 33-40",
    "meter": "17 6/8",
    "tempo": "33 q=88",
    "chart-entry": "verse: Am . F G | C | % | G",
}


def _line_example(noun: Noun) -> str:
    return noun.line.example if noun.line else _LINES.get(noun.word, "")


_SAID_OWNERS = {
    "session": '--session "day one"',
    "take": "--take 3",
    "arrangement": "--arrangement pub",
    "project": "--project Boathouse",
    "setlist": '--setlist "harbour fair"',
}
"""An example of each owner that is never where `here` is."""


def _owner_example(noun: Noun) -> str:
    owners = owners_of(noun.word)
    if "log" in owners:
        return ""
    return next((f" {text}" for owner, text in _SAID_OWNERS.items() if owner in owners), "")


def _example(noun: Noun) -> str:
    return _plain_example(noun) + _owner_example(noun)


def _plain_example(noun: Noun) -> str:
    name = _example_name(noun)
    if any(each.labelled for each in owners_of(noun.word).values()) and noun.line:
        return f'{name} "{noun.line.example}"'
    if _named(noun):
        field = next((each for each in noun.fields if each.attributes[0] not in noun.key), None)
        return f"{name} {_option_example(field)}" if field else name
    return f'"{_line_example(noun)}"'


def _example_name(noun: Noun) -> str:
    if not noun.key:
        return "2"
    example = noun.field_of(noun.key[0]).example
    return f'"{example}"' if " " in example else example


def _option_example(field: Field) -> str:
    if field.flag:
        return field.option
    value = f'"{field.example}"' if not field.example.isalnum() else field.example
    return f"{field.option} {value}"
