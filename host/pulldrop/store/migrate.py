"""Runs the migrations with Alembic. Rule: one transaction brings a store to the newest version, or leaves it alone."""

from pathlib import Path

from alembic import command
from alembic.config import Config
from sqlalchemy import Connection, inspect

from pulldrop.store.tables import VERSION_TABLE


def upgrade(connection: Connection, version: int) -> None:
    """From `version` to the newest. The connection is one for writing, in its transaction."""
    config = Config()
    config.set_main_option("script_location", str(Path(__file__).parent / "migrations").replace("%", "%%"))
    config.attributes["connection"] = connection
    if version and not inspect(connection).has_table(VERSION_TABLE):  # from before Alembic kept count
        command.stamp(config, f"{version:04d}")
    command.upgrade(config, "head")
