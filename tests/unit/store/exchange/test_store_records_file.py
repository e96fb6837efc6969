"""A file of records is read record by record, and as a whole or not at all."""

import subprocess
import sys
from pathlib import Path

import pytest
import records
from hypothesis import given
from hypothesis import strategies as some

from pulldrop.store import Store
from pulldrop.store.exchange import files, records_file
from pulldrop.store.exchange.records_file import FileRefused

ONE = records.record(part="P0001").model_dump_json()
TWO = records.record(part="P0002").model_dump_json()


def read(text: str, file: Path) -> list[str]:
    file.write_text(text, encoding="utf-8")
    return [one.model_dump_json() for one in records_file.records(file)]


@pytest.mark.parametrize("at_once", [7, 1000, len(ONE), len(ONE) + 3, 2**20])
@pytest.mark.parametrize("apart", [",", ",\n", " , \n\n "])
def test_records_are_read_wherever_the_file_is_cut(
    at_once: int, apart: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(records_file, "AT_ONCE", at_once)
    assert read(ONE, tmp_path / "one.json") == [ONE]
    assert read(f"\n{ONE} \n", tmp_path / "one.json") == [ONE]
    assert read(f" [ {ONE}{apart}{TWO}{apart}{ONE} ]\n", tmp_path / "three.json") == [ONE, TWO, ONE]
    assert read(" [ ] ", tmp_path / "none.json") == []
    assert read(f"\ufeff[{ONE}{' ' * 5000},{TWO}{' ' * 5000}]", tmp_path / "gaps.json") == [ONE, TWO]


NOT_WHOLE = (
    "", " ", "[", f"[{ONE}", f"[{ONE},", f"[{ONE},]", f"[{ONE} {TWO}]", f"{ONE} {TWO}", f"{ONE},{TWO}", f"[{ONE}] x",
    f"[{ONE}]]", f"{ONE}]", f"[{ONE},,{TWO}]", f"[,{ONE}]", ONE[:-1], f"[{ONE},{TWO[:-1]}]", "null", "12", "[[]]",
    "[" * 100_000, "{" * 100_000, '{"a":' * 100_000, "NaN",
)  # fmt: skip


@pytest.mark.parametrize("text", NOT_WHOLE, ids=range(len(NOT_WHOLE)))
def test_what_is_not_whole_is_refused_and_nothing_of_it_is_taken(text: str, tmp_path: Path) -> None:
    file = tmp_path / "records.json"
    file.write_text(text, encoding="utf-8")
    with Store.open(str(tmp_path / "here.db")) as store:
        with pytest.raises(FileRefused, match="neither a store nor the record of a run"):
            files.import_from(store, str(file))
        assert store.parts() == ()


@given(some.text(max_size=30), some.integers(1, 40))
def test_any_text_is_refused_and_never_an_error_of_the_program(text: str, at_once: int) -> None:
    import io

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(records_file, "AT_ONCE", at_once)
        for _ in records_file._texts(io.StringIO(text)):
            pass


def test_a_record_that_is_too_long_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(records_file, "AT_ONCE", 100)
    monkeypatch.setattr(records_file, "LONGEST", 2000)
    with pytest.raises(FileRefused):
        read(ONE, tmp_path / "one.json")


CHILD = """
import resource, sys
from pathlib import Path
from pulldrop.store.exchange.records_file import records
before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
print(sum(1 for _ in records(Path(sys.argv[1]))), (resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before) / 1024)
"""


def test_a_large_file_needs_little_memory(tmp_path: Path) -> None:
    """MB beyond those of the program itself; the file has 20 MB, and took eighteen times its size before."""
    file, count = tmp_path / "many.json", 20 * 2**20 // len(ONE)
    with file.open("w") as out:
        out.write(f"[{ONE}")
        for _ in range(count - 1):
            out.write(f",\n{ONE}")
        out.write("]")
    said = subprocess.run([sys.executable, "-c", CHILD, file], capture_output=True, text=True, check=True).stdout
    found, mb = said.split()
    assert int(found) == count and float(mb) < 60
