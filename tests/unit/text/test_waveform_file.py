"""A CSV file of another instrument is read by column and unit, or every mistake in it is named by line and column."""

from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from pulldrop.text.problem import BadText
from pulldrop.text.waveform import load_waveform

ROWS = [f"{0.1 * n - 1:.1f},{0 if n < 10 else 100},{int(n > 50)},{int(n < 40)}" for n in range(400)]
GOOD = "# invented\ntime_ms,coil_ma,no,nc\n" + "\n".join(ROWS) + "\n"


def told(tmp_path: Path, text: str | bytes) -> str:
    file = tmp_path / "w.csv"
    file.write_bytes(text if isinstance(text, bytes) else text.encode())
    with pytest.raises(BadText) as bad:
        load_waveform(file)
    return str(bad.value).replace(str(file), "w.csv")


def test_units_come_from_the_names_of_the_columns(tmp_path: Path) -> None:
    file = tmp_path / "w.csv"
    file.write_text(GOOD)
    found = load_waveform(file)
    assert found.amps is not None and found.no is not None and found.nc is not None
    assert (found.seconds[0], found.seconds[-1]) == pytest.approx((-1e-3, 38.9e-3))
    assert (found.amps[0], found.amps[-1]) == pytest.approx((0.0, 0.1))
    assert (found.no[0], found.nc[0], found.no[-1], found.nc[-1]) == (False, True, True, False)
    assert found.remarks == ("invented",)


def test_spaces_line_ends_and_capitals_of_other_programs_are_taken(tmp_path: Path) -> None:
    file = tmp_path / "w.csv"
    file.write_bytes(b"\xef\xbb\xbfTime_ms, Coil_A\r\n" + b"\r\n".join(b"%f, 1e-1" % (0.1 * n) for n in range(200)))
    found = load_waveform(file)
    assert found.amps == (0.1,) * 200 and found.no is None


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (("time_ms,coil_ma", "time_ms,coil_mA2"), "w.csv:2:9: 'coil_ma2' is no column of a waveform; did you mean"),
        (("coil_ma,no,nc", "no,coil_ma,no"), "w.csv:2:20: 'no' is there twice"),
        (("time_ms,coil_ma,no,nc", "coil_ma,time_ms,no,nc"), "w.csv:2:1: the first column is time"),
        (("-1.0,0,0,1", "-1.0,0,0"), "w.csv:3:1: 3 values; expected 4"),
        (("-1.0,0,0,1", "-1.0,nan,0,1"), "w.csv:3:6: 'coil_ma': 'nan' is no number"),
        (("-1.0,0,0,1", "-1.0,0_1,0,1"), "w.csv:3:6: 'coil_ma': '0_1' is no number"),
        (("-1.0,0,0,1", "-1.0,0,2,1"), "w.csv:3:8: 'no': 2; expected 1 for closed or 0 for open"),
        (("-1.0,0,0,1", "-1.0,99999,0,1"), "w.csv:3:6: 'coil_ma': 99999 is beyond 10 A; look at the unit"),
        (("-0.9,0,0,1", "-1.0,0,0,1"), "w.csv:4:1: time does not rise from row to row"),
        (("\n5.0,100,1,0\n5.1,100,1,0", ""), "0.3 ms without a row; expected one every 0.2 ms"),
        (("time_ms", "time_us"), "ends 0.0389 ms after time 0; expected 8 ms or more"),
        (
            ("time_ms,coil_ma,no,nc", "time_ms" + "," * 1900),
            "w.csv:2:1: 1901 columns; expected some of time_s",
        ),
        (("time_ms,coil_ma,no,nc", "," * 16000), "w.csv:2:1: has 16000 characters; expected at most 2000 in a line"),
        (("0.0,100", "0.0,100" + "0" * 3000), "w.csv:13:1: has 3011 characters"),
        (("# invented", "# \x1b[2J"), "w.csv:1:3: the character U+001B cannot stand in a text file"),
    ],
)
def test_a_mistake_is_named_with_its_place(tmp_path: Path, change: tuple[str, str], says: str) -> None:
    assert change[0] in GOOD
    assert says in told(tmp_path, GOOD.replace(*change, 1))


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "has no line of names"),
        ("time_ms,no\n1,0\n2,0\n", "begins after time 0"),
        (b"time_ms,no\n\xff", "w.csv:2:1: the byte 0xff is not UTF-8"),
        ("time_ms\n0\n", "expected one column of time, and coil current or contacts beside it"),
        ("time_ms,no\n" + "x,0\n" * 5000, "'time_ms': 'x' is no number"),
    ],
)
def test_what_is_no_waveform_is_refused(tmp_path: Path, text: str | bytes, says: str) -> None:
    assert says in told(tmp_path, text)


def test_a_file_beyond_all_size_is_refused_unread(tmp_path: Path) -> None:
    with (tmp_path / "w.csv").open("wb") as file:
        file.truncate(2**32)
    with pytest.raises(BadText, match="is larger than 32 MB"):
        load_waveform(tmp_path / "w.csv")


@settings(max_examples=300, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.integers(0, len(GOOD) - 1), st.binary(min_size=0, max_size=12))
def test_damage_is_refused_in_sentences_or_read_as_numbers(tmp_path: Path, place: int, put: bytes) -> None:
    file = tmp_path / "w.csv"
    file.write_bytes(GOOD.encode()[:place] + put + GOOD.encode()[place + len(put) :])
    try:
        found = load_waveform(file)
    except BadText as bad:
        assert str(bad)
    else:
        assert all(earlier < later for earlier, later in zip(found.seconds, found.seconds[1:], strict=False))
