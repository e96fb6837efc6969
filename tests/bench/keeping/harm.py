"""What is done to a file before it is carried in: values altered, cells forged, bytes damaged, text shaken."""

import contextlib
import copy
import json
import random
import sqlite3
from pathlib import Path

from sqlalchemy import select

from pulldrop.store import Store
from pulldrop.store.database import chain, tables

ODD: tuple[object, ...] = (
    None, True, False, 0, -1, 2, 0.5, 1e308, -1e308, float("nan"), float("inf"), 2**31, 2**63, 2**64, 10**20, 10**400,
    "", " ", "0", "'", '"', "..", "../../../x", "/dev/zero", "x" * 5000, "\x1b[2J\x9b", "\u202eevil", "\x00", "<b>",
    "=1+1", "23Y", "pass", "virtual", "real", [], {}, [[]], {"a": 1}, [None] * 50, "2026-13-45", "NaN", "1e999 V",
)  # fmt: skip


def alter(record: object, chance: random.Random) -> None:
    """One value somewhere in nested lists and mappings becomes another, goes, or comes twice."""
    inner: object = record
    while True:
        places: list[object] = list(inner) if isinstance(inner, dict) else list(range(len(inner)))  # type: ignore[arg-type]
        if not places:
            return
        place = chance.choice(places)
        value = inner[place]  # type: ignore[index]
        if isinstance(value, dict | list) and value and chance.random() < 0.9:
            inner = value
            continue
        what = chance.random()
        if what < 0.75:
            inner[place] = copy.deepcopy(chance.choice(ODD))  # type: ignore[index]
        elif what < 0.9:
            del inner[place]  # type: ignore[attr-defined]
        elif isinstance(inner, list):
            inner.append(copy.deepcopy(value))
        else:
            inner[f"{place}x"] = copy.deepcopy(value)  # type: ignore[index]
        return


def alter_cell(plain: sqlite3.Connection, chance: random.Random) -> None:
    """One cell is another, of whatever storage class, with the guards taken away; or the schema is."""
    tables = [name for (name,) in plain.execute("SELECT name FROM sqlite_master WHERE type = 'table'")]
    for (name,) in plain.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall():
        plain.execute(f'DROP TRIGGER "{name}"')
    table = chance.choice(tables)
    columns = [row[1] for row in plain.execute(f'PRAGMA table_info("{table}")')]
    with contextlib.suppress(sqlite3.Error):
        if chance.random() < 0.1:
            plain.execute(
                chance.choice((f'DROP TABLE "{table}"', f'DELETE FROM "{table}"', f'ALTER TABLE "{table}" ADD x'))
            )
        else:
            count = plain.execute(f'SELECT COUNT(*) FROM "{table}"').fetchone()[0]
            row = f'(SELECT "{columns[0]}" FROM "{table}" LIMIT 1 OFFSET {chance.randrange(count or 1)})'
            odd = chance.choice(ODD)
            if isinstance(odd, list | dict):
                odd = b"\xff\x00blob"
            elif isinstance(odd, int) and abs(odd) >= 2**63:
                odd = str(odd)
            plain.execute(f'UPDATE "{table}" SET "{chance.choice(columns)}" = ? WHERE "{columns[0]}" = {row}', (odd,))
        plain.commit()


def forge(file: Path, chance: random.Random) -> None:
    """Rows more, like one that is there but for a value, written as pulldrop writes: the chain holds."""
    with Store.open(str(file)) as store:
        for _ in range(chance.choice((1, 2, 4))):
            table = chance.choice([one for one in tables.RECORDS if one is not tables.link])
            with contextlib.suppress(Exception), store.writing() as connection:
                like = dict(chance.choice(connection.execute(select(table)).mappings().all()))
                for name in chain.key_of(table)[-1:]:
                    like[name] = (
                        like[name] + 1000
                        if isinstance(like[name], int)
                        else f"{like[name][:-4]}{chance.randrange(10**4):04d}"
                    )
                name, odd = chance.choice(list(like)), chance.choice(ODD)
                try:
                    held = json.loads(like[name])
                    alter(held, chance)
                    like[name] = json.dumps(held)
                except (TypeError, ValueError):
                    like[name] = json.dumps(odd) if isinstance(odd, list | dict) else odd
                chain.append(connection, [chain.Bundle(rows=[(table, like)])])


def damaged(content: bytes, chance: random.Random) -> bytes:
    """Some bytes are others, or the end is missing, or something is put in."""
    changed = bytearray(content)
    for _ in range(chance.choice((1, 3, 30))):
        at = chance.randrange(len(changed) or 1)
        match chance.randrange(4):
            case 0:
                changed[at : at + 1] = bytes([chance.randrange(256)])
            case 1:
                del changed[at : at + chance.choice((1, 10, 1000))]
            case 2:
                changed[at:at] = chance.randbytes(chance.choice((1, 10, 1000)))
            case 3:
                changed[at:at] = changed[at : at + 200]
    return bytes(changed)


def shaken(text: str, chance: random.Random) -> bytes:
    """Lines exchanged, words replaced, or bytes changed."""
    if chance.random() < 0.2:
        return damaged(text.encode(), chance)
    lines = text.splitlines()
    for _ in range(chance.choice((1, 2, 6))):
        at = chance.randrange(len(lines))
        match chance.randrange(4):
            case 0:
                lines[at] = lines[at].partition(":")[0] + f": {chance.choice(ODD)}"
            case 1:
                lines[at] = lines[chance.randrange(len(lines))]
            case 2:
                lines[at] = " " * chance.randrange(4) + lines[at]
            case 3:
                words = lines[at].split(" ")
                words[chance.randrange(len(words))] = str(chance.choice(ODD))
                lines[at] = " ".join(words)
    return "\n".join(lines).encode(errors="surrogatepass")
