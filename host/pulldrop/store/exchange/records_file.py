"""Records of runs in a JSON file, one after the other, so that a large file needs no more memory than one record."""

import json
from collections.abc import Iterator
from pathlib import Path
from typing import TextIO

from pydantic import ValidationError

from pulldrop.model.part.rating import IN_SI
from pulldrop.model.run.record import RunRecord
from pulldrop.store.errors import StoreError

AT_ONCE, LONGEST = 2**20, 20 * 2**20
"""Characters read at once, and of one record; a full test has 300,000."""
_ENDS = json.JSONDecoder(parse_int=str, parse_float=str)
"""Finds where a value ends."""


class FileRefused(StoreError):
    """A file that cannot be taken, or must not be written over."""


def records(file: Path) -> Iterator[RunRecord]:
    """Every record of a rescue file, or of an array of records. Raises FileRefused where one is none."""
    number = 0
    try:
        with file.open(encoding="utf-8-sig") as source:
            for text in _texts(source):
                number += 1
                yield RunRecord.model_validate_json(text, context=IN_SI)
    except ValidationError as error:
        first = error.errors()[0]
        where = ".".join(str(step) for step in first["loc"]) or "its beginning"
        raise _refused(file, f"record {number}, at {where}: {first['msg']}") from None
    except (UnicodeDecodeError, RecursionError) as error:
        raise _refused(file, str(error)) from None
    except OSError as error:
        raise FileRefused(f"The file {file} cannot be read ({error.strerror}). Check its name.") from error


def _refused(file: Path, why: str) -> FileRefused:
    return FileRefused(
        f"The file {file} is neither a store nor the record of a run ({why}). Expected a rescue file, what 'pulldrop "
        "test --json' answers, or a store."
    )


def _texts(source: TextIO) -> Iterator[str]:
    """The text of an object, or of each one in an array; last, if there is such, a text that is none."""
    rest = source.read(AT_ONCE).lstrip()
    listed = rest.startswith("[")
    rest, instead = (rest[1:], "]") if listed else (rest, None)
    while True:
        rest = rest.lstrip()
        try:
            _, end = _ENDS.raw_decode(rest)
        except ValueError:
            if more := source.read(max(AT_ONCE, len(rest))) if len(rest) < LONGEST else "":
                rest += more
                continue
            if rest.strip() != instead:
                yield rest
            return
        yield rest[:end]
        rest = rest[end:].lstrip()
        while not rest and (more := source.read(AT_ONCE)):
            rest = more.lstrip()
        if not (listed and rest.startswith(",")):
            break
        rest, instead = rest[1:], None
    if (rest + source.read(AT_ONCE)).strip() != ("]" if listed else ""):
        yield "?"
