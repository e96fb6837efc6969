"""What a bench has learned of a type, as a file: written by one bench, read beside makers' sheets by another.

Rule: the file has no ids of parts; numbers in it are in SI.
"""

from pathlib import Path

import yaml

from pulldrop.model.measurement import MEASUREMENTS
from pulldrop.model.part.reference import TypeReference
from pulldrop.text.document import read
from pulldrop.text.problem import BadText
from pulldrop.text.shape import fit

HEAD = """\
# What sound parts of one type read on one bench, in SI: hold others beside them by
# 'pulldrop test --siblings FILE' and 'pulldrop store rejudge RUN --siblings FILE'.
"""


def load_reference(path: Path) -> TypeReference:
    """The reference in a file. Raises BadText with every problem of it."""
    document = read(path)
    reference = fit(document, TypeReference)
    says = "is no measurement of pulldrop's; expected an id such as pull_in_current"
    if unknown := [one for one in reference.figures if one not in MEASUREMENTS]:
        raise BadText([document.problem(("figures", one), f"'{one}' {says}", at_key=True) for one in unknown])
    return reference


def written(reference: TypeReference) -> str:
    """The text of its file, numbers to five digits."""
    made = reference.model_dump(mode="json")
    made["figures"] = {
        id: {name: float(f"{value:.5g}") if isinstance(value, float) else value for name, value in one.items()}
        for id, one in made["figures"].items()
    }
    return HEAD + yaml.safe_dump(made, sort_keys=False)
