"""What Alembic runs for each migration, on the connection that `migrate.upgrade` hands over."""

from alembic import context

from pulldrop.store.tables import VERSION_TABLE

context.configure(connection=context.config.attributes["connection"], version_table=VERSION_TABLE)
with context.begin_transaction():
    context.run_migrations()
