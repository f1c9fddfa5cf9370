"""Runs the migration steps over the connection that `catalog.upgrade` hands in."""

from alembic import context

from catalog import access_tables, stock_tables  # noqa: F401 - their tables belong to Base
from catalog.migrations import VERSION_TABLE
from catalog.tables import Base

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=Base.metadata,
    version_table=VERSION_TABLE,
    render_as_batch=True,
)
with context.begin_transaction():
    context.run_migrations()
