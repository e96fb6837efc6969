"""Whether the tables, triggers and indices of a store are those of its version. Rule: one that lacks a guard, has a
table of another make or a trigger of somebody else's is not as it was made, whatever its rows hold.

What they should be is made beside it and compared as the database itself describes both.
"""

import re
from collections.abc import Iterator
from functools import cache
from typing import Any

from sqlalchemy import Connection, create_engine

from pulldrop.store.admin.version import VERSION_TABLE, create, found, newest

Described = dict[tuple[str, str], str]
"""By kind and name, such as trigger and run_no_update: how the database describes it."""
BESIDE = "pulldrop_as_it_should_be"


def differences(connection: Connection) -> Iterator[str]:
    """A sentence for each thing that is missing, altered, or not ours."""
    version = found(connection)
    if version != newest():
        yield f"The store says that its tables have version {version}; they were made as version {newest()}."
    on_server = connection.dialect.name == "postgresql"
    there = _on_postgres(connection, "current_schema()") if on_server else _on_sqlite(connection)
    right = _right_on_postgres(connection) if on_server else _right_on_sqlite()
    for kind, name in sorted(there.keys() | right.keys()):
        if (kind, name) not in there:
            yield f"The {kind} {name} is missing."
        elif (kind, name) not in right:
            yield f"The {kind} {name} was put in from outside."
        elif there[kind, name] != right[kind, name]:
            yield f"The {kind} {name} was altered."


def _on_sqlite(connection: Connection) -> Described:
    rows = connection.exec_driver_sql("SELECT type, name, tbl_name, sql FROM sqlite_master")
    return {(str(kind), str(name)): f"{of}: {_even(str(sql))}" for kind, name, of, sql in rows}


def _even(sql: str) -> str:
    """With its spaces, and the quotes about a bare name, evened out, which a table that grew has otherwise than a new
    one. What is more than a name stays quoted: SQLite takes it for a text.
    """
    return re.sub(r"\s*([(),])\s*", r"\1", re.sub(r"\s+", " ", re.sub(r'"(\w+)"', r"\1", sql))).strip()


@cache
def _right_on_sqlite() -> Described:
    engine = create_engine("sqlite://")
    with engine.connect() as connection:
        create(connection)
        right = _on_sqlite(connection)
    engine.dispose()
    return right


def _right_on_postgres(connection: Connection) -> Described:
    """Made in a schema of its own, which is gone again when this is over."""
    before = connection.exec_driver_sql("SHOW search_path").scalar_one()
    with connection.begin_nested() as beside:
        connection.exec_driver_sql(f"CREATE SCHEMA {BESIDE}")
        connection.exec_driver_sql(f"SET LOCAL search_path TO {BESIDE}")
        create(connection)
        right = _on_postgres(connection, "current_schema()")
        connection.exec_driver_sql(f"SET LOCAL search_path TO {before}")
        beside.rollback()
    return right


POSTGRES = {
    "table": "SELECT relname, concat(relkind, relrowsecurity, reloptions) FROM pg_class WHERE relnamespace = {own}"
    " AND relkind NOT IN ('i', 't', 'c')",
    "column": "SELECT relname || '.' || attname, concat(attnum, format_type(atttypid, atttypmod), attnotnull, collname,"
    " pg_get_expr(adbin, adrelid)) FROM pg_attribute JOIN pg_class c ON c.oid = attrelid"
    " LEFT JOIN pg_attrdef d ON adrelid = attrelid AND adnum = attnum LEFT JOIN pg_collation k ON k.oid = attcollation"
    " WHERE relnamespace = {own} AND attnum > 0 AND NOT attisdropped AND relkind NOT IN ('i', 't', 'c')",
    "index": "SELECT relname, pg_get_indexdef(c.oid) FROM pg_class c WHERE relnamespace = {own} AND relkind = 'i'",
    "rule of": "SELECT conrelid::regclass || ' ' || conname, pg_get_constraintdef(oid) || convalidated"
    " FROM pg_constraint WHERE connamespace = {own}",
    "trigger": "SELECT tgrelid::regclass || CASE WHEN tgisinternal THEN ' (foreign key)' ELSE ' ' || tgname END,"
    " string_agg(concat(tgenabled, tgtype, tgfoid::regproc, tgqual, CASE WHEN NOT tgisinternal THEN"
    " pg_get_triggerdef(t.oid) END), ';' ORDER BY tgtype, tgfoid::regproc::text, tgenabled)"
    " FROM pg_trigger t JOIN pg_class c ON c.oid = tgrelid WHERE relnamespace = {own} GROUP BY 1",
    "function": "SELECT proname, concat(prosrc, prolang, prosecdef, proconfig) FROM pg_proc WHERE pronamespace = {own}",
    "rewriting rule": "SELECT rulename || ' of ' || ev_class::regclass, pg_get_ruledef(r.oid) FROM pg_rewrite r"
    " JOIN pg_class c ON c.oid = ev_class WHERE relnamespace = {own}",
}
"""What a schema holds, by kind (PostgreSQL, system catalogs): names, and a description."""


def _on_postgres(connection: Connection, schema: str) -> Described:
    own = f"(SELECT oid FROM pg_namespace WHERE nspname = {schema})"
    name: Any = connection.exec_driver_sql(f"SELECT {schema}").scalar_one()
    told: Described = {}
    for kind, query in POSTGRES.items():
        for what, how in connection.exec_driver_sql(query.format(own=own)):
            if VERSION_TABLE not in what:
                told[kind, _bare(what, name)] = _bare(str(how), name)
    versions = connection.exec_driver_sql(f"SELECT count(*) FROM {VERSION_TABLE}").scalar_one()
    told["table", VERSION_TABLE] = f"{versions} rows"
    return told


def _bare(text: str, schema: str) -> str:
    return text.replace(f"{schema}.", "").replace(f'"{schema}".', "")
