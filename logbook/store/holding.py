"""SQLite's columns held to what they are declared as: whole numbers, numbers, text, yes or no.

Conventions
-----------
SQLite takes any kind of value in any column, so every table gets one CHECK over all its columns.
It stands last in the table's own statement under a name of its own, and is taken out before the
tables are changed and put back, as they then are, when a migration has come to the end. It is
written into the schema as SQLite's manual describes for constraints that were not thought of when
the table was made (sqlite.org, "ALTER TABLE", making other kinds of table schema changes): no row
is copied. A column of an old log that holds another kind of value somewhere is left as it is, so
that no log is locked out by its own past.
"""

from __future__ import annotations

from sqlalchemy import Connection
from sqlalchemy.exc import DatabaseError

NAME = "ck_typed"
_MARK = f", CONSTRAINT {NAME} CHECK ("
_KINDS = {
    "INTEGER": "typeof({0}) IN ('integer', 'null')",
    "BIGINT": "typeof({0}) IN ('integer', 'null')",
    "BOOLEAN": "{0} IN (0, 1)",
    "FLOAT": "typeof({0}) IN ('real', 'null')",
    "TEXT": "typeof({0}) IN ('text', 'null')",
}


def hold(connection: Connection) -> None:
    """Let every table of ours take only what its columns are declared as."""
    statements = {}
    columns = _columns(connection)
    for table, statement in _tables(connection).items():
        rules = [
            rule
            for column, declared in columns[table]
            if (rule := _KINDS.get(declared, "").format(f'"{column}"'))
        ]
        # One look at a table as a rule: each column by itself only where something is wrong.
        if rules and _broken(connection, table, " AND ".join(rules)):
            rules = [rule for rule in rules if not _broken(connection, table, rule)]
        end = statement.rindex(")")
        if rules:
            statements[table] = f"{statement[:end]}{_MARK}{' AND '.join(rules)})\n)"
    _rewrite(connection, statements)


def release(connection: Connection) -> None:
    """Take those rules out again, so that tables can be changed."""
    _rewrite(connection, _tables(connection, held=True))


def _tables(connection: Connection, *, held: bool = False) -> dict[str, str]:
    """The statements of our tables without the rules; with `held` only of those that have them."""
    found = connection.exec_driver_sql(
        "SELECT name, sql FROM sqlite_master WHERE type = 'table'"
        " AND name NOT LIKE 'sqlite_%' AND name NOT LIKE 'kept_%' AND name <> 'alembic_version'"
    ).fetchall()
    statements = {}
    for name, sql in found:
        before, mark, _ = str(sql).partition(_MARK)
        if mark or not held:
            statements[str(name)] = f"{before}\n)" if mark else str(sql)
    return statements


def _columns(connection: Connection) -> dict[str, list[tuple[str, str]]]:
    """Name and declared kind of the columns of every table, without its key."""
    found: dict[str, list[tuple[str, str]]] = {}
    for table, column, declared, key in connection.exec_driver_sql(
        "SELECT m.name, c.name, c.type, c.pk FROM sqlite_master m, pragma_table_info(m.name) c"
        " WHERE m.type = 'table' ORDER BY m.name, c.cid"
    ):
        columns = found.setdefault(str(table), [])
        if not key:
            columns.append((str(column), str(declared).upper()))
    return found


def _broken(connection: Connection, table: str, rule: str) -> bool:
    row = connection.exec_driver_sql(f'SELECT 1 FROM "{table}" WHERE NOT ({rule}) LIMIT 1').first()
    return row is not None


def _rewrite(connection: Connection, statements: dict[str, str]) -> None:
    if not statements:
        return
    version = int(connection.exec_driver_sql("PRAGMA schema_version").scalar() or 0)
    connection.exec_driver_sql("PRAGMA writable_schema = ON")
    try:
        for table, statement in statements.items():
            connection.exec_driver_sql(
                "UPDATE sqlite_master SET sql = ? WHERE type = 'table' AND name = ?",
                (statement, table),
            )
        connection.exec_driver_sql(f"PRAGMA schema_version = {version + 1}")
    except DatabaseError as error:
        # Some makers build SQLite so that nobody may do this; it then takes what it is given.
        if "may not be modified" not in str(error):
            raise
    finally:
        connection.exec_driver_sql("PRAGMA writable_schema = RESET")
    for table in statements:
        connection.exec_driver_sql(f'SELECT 1 FROM "{table}" LIMIT 0')
