"""Alembic's way in: run the steps on the connection that `logbook.store.schema` hands over."""

from __future__ import annotations

from alembic import context

from logbook.store.models import Base

connection = context.config.attributes["connection"]
context.configure(
    connection=connection,
    target_metadata=context.config.attributes.get("metadata", Base.metadata),
    render_as_batch=connection.dialect.name == "sqlite",
    compare_type=True,
)
with context.begin_transaction():
    context.run_migrations()
