"""What PyYAML says about broken syntax, in words for a person who writes protocols and not parsers."""

import yaml

_PLAIN = (
    ("'\\t' that cannot start", "a tab stands here; indent with spaces"),
    (
        "mapping values are not allowed",
        "a colon stands where no key can be; put the text in quotes if it holds ': ', or mend the indentation",
    ),
    ("chomping or indentation", "text that begins with '>' or '|' must stand in quotes"),
    ("could not find expected ':'", "a key without its colon; expected 'key: value'"),
    ("expected <block end>", "this does not line up with the lines above; expected keys or '-' in the same column"),
    ("expected ',' or", "a list or mapping in brackets is not closed; expected ',' or the closing bracket"),
    ("unexpected end of stream", "a quote is opened and never closed"),
    ("unknown escape character", "an unknown escape after '\\'; use single quotes for text with backslashes"),
    ("cannot start any token", "this character cannot begin a value; put the value in quotes"),
    ("undefined tag handle", "a tag is not taken here; write the plain value"),
    ("expected the node content", "a value is missing here"),
    (
        "expected alphabetic or numeric",
        "an alias or anchor is not taken here; put text that begins with * or & in quotes",
    ),
)


def explain(error: yaml.MarkedYAMLError) -> tuple[int, int, str]:
    """Line and column from 1, and one sentence."""
    mark = error.problem_mark or error.context_mark
    line, column = (mark.line + 1, mark.column + 1) if mark else (0, 0)
    problem = error.problem or "broken"
    says = next((says for part, says in _PLAIN if part in problem), f"this is not valid YAML: {problem}")
    if "never closed" in says and error.context_mark:
        line, column = error.context_mark.line + 1, error.context_mark.column + 1
    return line, column, says
