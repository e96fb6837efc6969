"""Triggers that keep the records append only, in the words of SQLite and of PostgreSQL.

Rule: every table of records is guarded. Working sums are not: they are no records, and follow from them.
"""

from collections.abc import Iterable

from sqlalchemy import Connection, Table

REFUSED = "the store is append only"
ENDED = "the run has ended"

FUNCTIONS = {
    "pulldrop_append_only": f"BEGIN RAISE EXCEPTION '{REFUSED}' USING ERRCODE = 'restrict_violation'; END",
    "pulldrop_before_end": "BEGIN IF EXISTS (SELECT 1 FROM run_end WHERE run = NEW.run) THEN "
    f"RAISE EXCEPTION '{ENDED}' USING ERRCODE = 'restrict_violation'; END IF; RETURN NEW; END",
}
"""What PostgreSQL's triggers call; made once a schema."""


def guard(connection: Connection, tables: Iterable[Table]) -> None:
    """Make the triggers of tables that have just been made."""
    on_postgres = connection.dialect.name == "postgresql"
    if on_postgres:
        for name, body in FUNCTIONS.items():
            connection.exec_driver_sql(
                f"CREATE OR REPLACE FUNCTION {name}() RETURNS trigger LANGUAGE plpgsql AS $$ {body} $$"
            )
    for table in tables:
        for trigger in _on_postgres(table) if on_postgres else _on_sqlite(table):
            connection.exec_driver_sql(trigger)


def _on_sqlite(table: Table) -> list[str]:
    """Insertion is guarded too: INSERT OR REPLACE would remove the old row unseen."""
    same_key = " AND ".join(f"{c.name} = NEW.{c.name}" for c in table.primary_key.columns)
    refuse = f"BEGIN SELECT RAISE(ABORT, '{REFUSED}'); END"
    triggers = [
        f"CREATE TRIGGER {table.name}_no_update BEFORE UPDATE ON {table.name} {refuse}",
        f"CREATE TRIGGER {table.name}_no_delete BEFORE DELETE ON {table.name} {refuse}",
        f"CREATE TRIGGER {table.name}_no_replace BEFORE INSERT ON {table.name} "
        f"WHEN EXISTS (SELECT 1 FROM {table.name} WHERE {same_key}) {refuse}",
    ]
    if table.name == "measurement":
        triggers.append(
            "CREATE TRIGGER measurement_before_end BEFORE INSERT ON measurement "
            "WHEN EXISTS (SELECT 1 FROM run_end WHERE run = NEW.run) "
            f"BEGIN SELECT RAISE(ABORT, '{ENDED}'); END"
        )
    return triggers


def _on_postgres(table: Table) -> list[str]:
    """ON CONFLICT DO UPDATE is an update; TRUNCATE asks no row, so it is guarded by itself."""
    name = table.name
    triggers = [
        f'CREATE TRIGGER {name}_no_change BEFORE UPDATE OR DELETE ON "{name}" '
        "FOR EACH ROW EXECUTE FUNCTION pulldrop_append_only()",
        f'CREATE TRIGGER {name}_no_truncate BEFORE TRUNCATE ON "{name}" '
        "FOR EACH STATEMENT EXECUTE FUNCTION pulldrop_append_only()",
    ]
    if name == "measurement":
        triggers.append(
            "CREATE TRIGGER measurement_before_end BEFORE INSERT ON measurement "
            "FOR EACH ROW EXECUTE FUNCTION pulldrop_before_end()"
        )
    return triggers
