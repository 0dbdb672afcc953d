"""The migrations, and running them up or down, in one transaction each.

Conventions
-----------
The migrations are found by path, below `logbook` where it is installed and beside it in a checkout,
never by a name that another project may have too; no ini file is needed. Everything runs in
one transaction on both databases, so a crash half way leaves the log as it was. SQLite's
foreign keys are off meanwhile (batch mode makes tables anew) and checked before the commit.
"""

from __future__ import annotations

from pathlib import Path

from alembic import command
from alembic.config import Config
from alembic.script import ScriptDirectory
from sqlalchemy import Connection, Engine

from logbook.store.engine import writing
from logbook.store.errors import StoreError
from logbook.store.holding import hold, release
from logbook.store.journal import use_wal
from logbook.store.ours import APPLICATION_ID
from logbook.store.store import HEAD


def scripts() -> Path:
    """The folder of the migrations that belong to this very program."""
    package = Path(__file__).resolve().parent.parent
    installed = package / "migrations"
    return installed if installed.is_dir() else package.parent / "migrations"


def configuration(connection: Connection | None = None) -> Config:
    """Alembic's configuration for the installed migrations, on `connection`."""
    config = Config()
    config.set_main_option("script_location", str(scripts()).replace("%", "%%"))
    config.attributes["connection"] = connection
    return config


def revisions() -> list[str]:
    """All migrations, oldest first."""
    script = ScriptDirectory.from_config(configuration())
    return [step.revision for step in reversed(list(script.walk_revisions()))]


def migrate(engine: Engine, dialect: str, to: str = "head", *, down: bool = False) -> None:
    """Run the migrations up to (or, with `down`, back to) revision `to`."""
    step = command.downgrade if down else command.upgrade
    if dialect == "sqlite":
        use_wal(engine)
    with writing(engine, dialect, unchecked=True) as connection:
        if dialect == "sqlite":
            release(connection)
        step(configuration(connection), to)
        if dialect == "sqlite":
            if to == "head":
                hold(connection)
            broken = connection.exec_driver_sql("PRAGMA foreign_key_check").fetchall()
            if broken:
                raise StoreError(
                    f"the migration would break {len(broken)} references in {broken[0][0]}",
                    "the log was left as it is; bring back a backup or ask for help",
                )
            connection.exec_driver_sql(f"PRAGMA application_id = {APPLICATION_ID}")


def newer(path: Path) -> StoreError:
    """The error for a file from a newer program."""
    return StoreError(
        f"{path} was written by a newer program (this one knows logs up to schema {HEAD})",
        "install the newer session-logbook; nothing was changed",
    )
