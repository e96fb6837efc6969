"""Whether the tables, triggers and indices of a store are those of its version. Rule: one that lacks a guard, has a
table of another make or a trigger of somebody else's is not as it was made, whatever its rows hold.

What they should be is made beside it and compared as the database itself describes both. On PostgreSQL a server's
administrator may change grants, comments, statistics targets, publications, replica identities, and how and in which
tablespace columns and tables are stored: these are not compared, since none changes a row or switches a guard off.
"""

import re
from collections.abc import Iterator
from functools import cache

from sqlalchemy import Connection, create_engine

from pulldrop.store.admin.version import create, found, newest
from pulldrop.store.database.place import VERSION_TABLE

Described = dict[tuple[str, str], str]
"""By kind and name, such as trigger and run_no_update: how the database describes it."""
BESIDE = "pulldrop_as_it_should_be"


def differences(connection: Connection) -> Iterator[str]:
    """A sentence for each thing that is missing, altered, or not ours."""
    version = found(connection)
    if version != newest():
        yield f"The store says that its tables have version {version}; they were made as version {newest()}."
    on_server = connection.dialect.name == "postgresql"
    there = _on_postgres(connection, IN_SCHEMA | IN_DATABASE) if on_server else _on_sqlite(connection)
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
    """Made in a schema of its own, which is gone again when this is over, and with it that search path."""
    with connection.begin_nested() as beside:
        connection.exec_driver_sql(f"CREATE SCHEMA {BESIDE}")
        connection.exec_driver_sql(f"SET LOCAL search_path TO {BESIDE}, pg_temp")
        create(connection)
        right = _on_postgres(connection, IN_SCHEMA)
        beside.rollback()
    return right


IN_SCHEMA = {
    "table": "SELECT relname, concat(relkind, relpersistence, relrowsecurity, relforcerowsecurity,"
    " relowner = {owner}) FROM pg_class WHERE relnamespace = {own} AND relkind NOT IN ('i', 't', 'c')",
    "column": "SELECT relname || '.' || attname, concat(attnum, format_type(atttypid, atttypmod), attnotnull,"
    " attcollation::regcollation, pg_get_expr(adbin, adrelid))"
    " FROM pg_attribute JOIN pg_class c ON c.oid = attrelid"
    " LEFT JOIN pg_attrdef d ON adrelid = attrelid AND adnum = attnum"
    " WHERE relnamespace = {own} AND attnum > 0 AND NOT attisdropped AND relkind NOT IN ('i', 't', 'c')",
    "index": "SELECT relname, concat(pg_get_indexdef(c.oid, 0, true), indisvalid, indisready, indislive)"
    " FROM pg_class c JOIN pg_index ON indexrelid = c.oid WHERE relnamespace = {own}",
    "rule of": "SELECT conrelid::regclass || ' ' || conname, pg_get_constraintdef(oid) || convalidated"
    " FROM pg_constraint WHERE connamespace = {own}",
    "trigger": "SELECT tgrelid::regclass || CASE WHEN tgisinternal THEN ' (foreign key)' ELSE ' ' || tgname END,"
    " string_agg(concat(tgenabled, tgtype, tgfoid::regproc, tgqual, CASE WHEN NOT tgisinternal THEN"
    " pg_get_triggerdef(t.oid, true) END), ';' ORDER BY tgtype, tgfoid::regproc::text, tgenabled)"
    " FROM pg_trigger t JOIN pg_class c ON c.oid = tgrelid WHERE relnamespace = {own} GROUP BY 1",
    "function": "SELECT oid::regprocedure::text, concat(prosrc, prolang, prosecdef, proconfig, provolatile,"
    " proowner = {owner}) FROM pg_proc WHERE pronamespace = {own}",
    "rewriting rule": "SELECT rulename || ' of ' || ev_class::regclass, pg_get_ruledef(r.oid, true) FROM pg_rewrite r"
    " JOIN pg_class c ON c.oid = ev_class WHERE relnamespace = {own}",
    "policy": "SELECT polname || ' of ' || polrelid::regclass, '' FROM pg_policy"
    " JOIN pg_class c ON c.oid = polrelid WHERE relnamespace = {own}",
    "child table": "SELECT inhrelid::regclass || ' of ' || inhparent::regclass, '' FROM pg_inherits"
    " JOIN pg_class c ON c.oid IN (inhrelid, inhparent) WHERE relnamespace = {own}",
    "object": "SELECT pg_describe_object(classid, objid, 0), '' FROM pg_depend WHERE refclassid ="
    " 'pg_namespace'::regclass AND refobjid = {own} AND classid NOT IN ('pg_class'::regclass, 'pg_proc'::regclass)",
}
"""What a schema holds, by kind (PostgreSQL, system catalogs): names, and a description. All names are as seen from the
schema, so that only those of other schemas are qualified. Owners: whether they are that of the table of the version.
"""
IN_DATABASE = {
    "event trigger": "SELECT evtname, '' FROM pg_event_trigger",
    "setting": "SELECT lower(setting), '' FROM (SELECT name || '=' || reset_val AS setting FROM pg_settings"
    " UNION SELECT unnest(setconfig) FROM pg_db_role_setting LEFT JOIN pg_database d ON d.oid = setdatabase"
    " WHERE d.oid IS NULL OR datname = current_database()) s"
    " WHERE lower(setting) = 'session_replication_role=replica'",
}
"""What no database of a store has: a trigger that could alter what is made beside it, a session without guards."""


def _on_postgres(connection: Connection, queries: dict[str, str]) -> Described:
    """What is there, of the schema that the connection's search path names first."""
    own = "current_schema()::regnamespace"
    owner = f"(SELECT relowner FROM pg_class WHERE oid = '{VERSION_TABLE}'::regclass)"
    return {
        (kind, name): str(how)
        for kind, query in queries.items()
        for name, how in connection.exec_driver_sql(query.format(own=own, owner=owner))
    }
