"""Reading YAML: words stay words, every value knows its place, and nothing hidden is followed."""

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pulldrop.text.document import Document, parse, read
from pulldrop.text.problem import BadText


def problems_of(text: str) -> list[str]:
    """All problems, of a document that could be read to its end or not."""
    try:
        return [str(p) for p in parse(text, "f.yaml").problems]
    except BadText as bad:
        return [str(p) for p in bad.problems]


@pytest.mark.parametrize("word", ["NO", "no", "No", "on", "ON", "off", "yes", "Yes", "y", "n", "True", "FALSE", "NC"])
def test_the_name_of_a_contact_is_a_word_and_never_a_boolean(word: str) -> None:
    assert parse(f"throw: {word}", "f").value == {"throw": word}
    assert parse(f"{word}: 87", "f").value == {word: 87}


@pytest.mark.parametrize(
    ("written", "value"),
    [
        ("true", True),
        ("false", False),
        ("null", None),
        ("~", None),
        ("", None),
        ("12", 12),
        ("-3", -3),
        ("1.5", 1.5),
        ("1e3", 1000.0),
        ("'12'", "12"),
        ("12 V", "12 V"),
        ("007", "007"),
        ("0x10", "0x10"),
        ("1_000", "1_000"),
        ("12:30", "12:30"),
        ("2026-11-25", "2026-11-25"),
        ("9" * 40, "9" * 40),
    ],
)
def test_a_plain_word_is_a_number_only_where_every_reader_agrees(written: str, value: object) -> None:
    assert parse(f"key: {written}", "f").value == {"key": value}


def test_each_value_and_key_knows_its_line_and_column() -> None:
    document = parse("a: 1\nsteps:\n  - measure: coil\n    at: 12 V\n", "f.yaml")
    assert str(document.problem(("steps", 0, "at"), "x")) == "f.yaml:4:9: x"
    assert str(document.problem(("steps", 0, "at"), "x", at_key=True)) == "f.yaml:4:5: x"
    assert str(document.problem(("steps", 0), "x")) == "f.yaml:3:5: x"


def test_a_missing_value_is_placed_at_the_mapping_that_lacks_it() -> None:
    assert str(parse("a:\n  b: 1", "f.yaml").problem(("a", "gone"), "x")) == "f.yaml:2:3: x"


@pytest.mark.parametrize(
    ("written", "column"), [("<= 5 V", 8), ("'<= 5 V'", 9), ('"<= 5 V"', 9), ('"\\x3c= 5 V"', 4), (">-\n  <= 5 V", 4)]
)
def test_a_column_inside_a_text_is_exact_or_not_claimed(written: str, column: int) -> None:
    document = parse(f"k: {written}", "f")
    assert document.problem(("k",), "x", offset=4).column == column


@pytest.mark.parametrize(
    ("text", "place", "says"),
    [
        ("a: 1\na: 2", "f.yaml:2:1", "'a' stands here again; it is already in line 1"),
        ("a: &x 1", "f.yaml:1:4", "the anchor '&x'"),
        ("b: *x", "f.yaml:1:4", "the alias '*x'"),
        ("<<: {a: 1}", "f.yaml:1:1", "the merge key"),
        ("a: !!python/object/apply:os.system [ls]", "f.yaml:1:4", "the tag '!!python/object/apply:os.system'"),
        ("a: !!str 5", "f.yaml:1:4", "the tag '!!str'"),
        ("a: !own 5", "f.yaml:1:4", "the tag '!own'"),
        ("a: 1\n---\nb: 2", "f.yaml:2:1", "a second document"),
        ("? [a]\n: 1", "f.yaml:1:3", "where a key is expected"),
        ("? {a: 1}\n: 1", "f.yaml:1:3", "where a key is expected"),
        ("a: .nan", "f.yaml:1:4", "not a finite number"),
        ("a: -.INF", "f.yaml:1:4", "not a finite number"),
        ("a: NaN", "f.yaml:1:4", "not a finite number"),
        ("a: 1e999", "f.yaml:1:4", "not a finite number"),
        ('a: "\\0"', "f.yaml:1:4", "U+0000"),
        ('a: "\\ud800"', "f.yaml:1:4", "U+D800"),
        ("a:\n\tb: 1", "f.yaml:2:1", "a tab stands here"),
        ("a: b: c", "f.yaml:1:5", "quotes"),
        ("a: >= 10 %", "f.yaml:1:5", "must stand in quotes"),
        ("a: 'b\nc: d", "f.yaml:1:4", "a quote is opened and never closed"),
        ("a: [1, 2\nb: 3", "f.yaml:2:2", "closed"),
        ("a: 1\n b: 2", "f.yaml:2:3", "a colon stands where no key can be"),
        ("a:\n  b: 1\n c: 2", "f.yaml:3:2", "does not line up"),
        ("a: @b", "f.yaml:1:4", "quotes"),
        ("a: 'b' c", "f.yaml:1:8", "does not line up"),
        ("a: \x07", "f.yaml:1:4", "U+0007"),
        ("%YAML 9.0\n---\na: 1", "f.yaml:1:1", "not valid YAML"),
    ],
)
def test_what_cannot_be_taken_is_named_at_its_place(text: str, place: str, says: str) -> None:
    first = problems_of(text)[0]
    assert first.startswith(place + ":")
    assert says in first


def test_a_problem_does_not_hide_the_next_one() -> None:
    told = problems_of("a: &x 1\nb: *x\nb: .nan\nc: !t 3\nd: [1\n")
    assert [line.split(":")[1] for line in told] == ["1", "2", "3", "3", "4", "6"]


@pytest.mark.parametrize("text", ["", "# nothing but a comment\n", "---\n", "\n\n"])
def test_an_empty_file_holds_nothing(text: str) -> None:
    assert parse(text, "f").value is None


def test_a_byte_order_mark_is_passed_over(tmp_path: Path) -> None:
    file = tmp_path / "bom.yaml"
    file.write_bytes(b"\xef\xbb\xbfa: 1\r\nb: 2\r\n")
    assert read(file).value == {"a": 1, "b": 2}


def test_a_quoted_double_angle_is_an_ordinary_key() -> None:
    document = parse('"<<": 1', "f")
    assert (document.value, document.problems) == ({"<<": 1}, [])


@given(text=st.text(max_size=200))
def test_any_text_is_a_document_or_bad_text(text: str) -> None:
    try:
        assert isinstance(parse(text, "f"), Document)
    except BadText as bad:
        assert bad.problems


@given(text=st.text(alphabet="ab:-[]{}&*!|>'\"#%@?, \n\t0.<", max_size=60))
def test_any_shuffle_of_yaml_signs_is_a_document_or_bad_text(text: str) -> None:
    try:
        parse(text, "f")
    except BadText as bad:
        assert all(0 <= p.line <= text.count("\n") + 2 for p in bad.problems)
