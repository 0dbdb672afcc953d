"""Writes docs/commands.md from the commands' own help: python docs/make_commands.py."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import typer

from logbook.cli.main import app, command_table

HEAD = """\
# Commands

`logbook COMMAND --help` says all that a command takes; this page lists them with an example each.
It is written by `docs/make_commands.py`.

Everywhere: `--db PATH_OR_URL` or `LOGBOOK_DB` names the log (a file, or a PostgreSQL address),
names may be cut short where that is clear, `--json` prints the same as data, and whatever is not
said is where `logbook here` is. A command ends with 0, with 1 where it looked for something wrong
and found it, and with 2 and one plain sentence where it could not do what was asked.
"""


def page() -> str:
    """Return the page."""
    root: Any = typer.main.get_command(app)
    context = root.make_context("logbook", [], resilient_parsing=True)
    lines = [HEAD]
    headings: dict[str, list[str]] = {}
    for name, (_, heading, _) in command_table().items():
        headings.setdefault(heading, []).append(name)
    for heading, names in headings.items():
        lines += [
            f"## {heading}",
            "",
            "| command | what it does | example |",
            "| --- | --- | --- |",
        ]
        for name in names:
            command = root.get_command(context, name)
            help_line = command_table()[name][2]
            lines.append(f"| `{name}` | {help_line} | {_example(command)} |")
        lines.append("")
    return "\n".join(lines)


def _example(command: Any) -> str:
    said = [line.strip() for line in (command.epilog or "").splitlines()]
    examples = [line for line in said if line.startswith("logbook ")]
    return f"`{examples[0]}`".replace("|", "\\|") if examples else ""


if __name__ == "__main__":
    Path(__file__).with_name("commands.md").write_text(page(), encoding="utf-8")
