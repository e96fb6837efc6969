"""What is wrong with a file that a person wrote: one sentence a problem, with its place."""

from collections.abc import Iterable
from dataclasses import dataclass

MOST_SHOWN = 50
"""More problems than this help nobody; a hostile file could have thousands."""


@dataclass(frozen=True, slots=True, order=True)
class Problem:
    """`line` and `column` count from 1; line 0 means the file as a whole."""

    file: str
    line: int
    column: int
    says: str

    def __str__(self) -> str:
        place = f"{self.file}:{self.line}:{self.column}" if self.line else self.file
        return f"{place}: {self.says}"


class BadText(Exception):
    """Every problem found in one file, each once, in order of place."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        ordered = sorted(set(problems))
        self.problems = ordered[:MOST_SHOWN]
        if len(ordered) > MOST_SHOWN:
            self.problems.append(Problem(ordered[0].file, 0, 0, f"{len(ordered) - MOST_SHOWN} more problems follow"))
        super().__init__("\n".join(str(p) for p in self.problems))
