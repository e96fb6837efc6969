"""A physical part, whatever its kind: who it is, and what a person noted about it."""

from typing import Any, ClassVar

from pulldrop.model.raw import Frozen, OneLine


class Part(Frozen):
    """What parts of every kind have; a kind adds its own fields, such as a relay its contact form.

    `id` is short enough to write on it with a pen. `births`: what distinguishes it from other parts of the same id
    elsewhere: a mark that the store gives it when it is first kept, several where parts were found to be one. Empty for
    a part that no store has kept yet. `noun`, `plural`: the kind in sentences, with its article and of many;
    `command`: what tests it, empty where nothing does; `ratings`: the folder of `protocols` with its shipped ratings.
    """

    noun: ClassVar[str]
    plural: ClassVar[str]
    command: ClassVar[str] = ""
    ratings: ClassVar[str] = ""

    id: str
    kind: str
    label: OneLine = ""
    donor: OneLine = ""
    notes: OneLine = ""
    births: tuple[str, ...] = ()

    @property
    def own(self) -> dict[str, Any]:
        """The fields of its kind alone, as JSON has them."""
        return self.model_dump(mode="json", exclude=set(Part.model_fields))

    def same_kind(self, other: "Part") -> bool:
        """Whether both are of one kind, and alike in what parts of that kind have, as two ids of one part are."""
        return (self.kind, self.own) == (other.kind, other.own)

    def __str__(self) -> str:
        """The kind of part, for people: `relay, changeover (Form C)`, `fuse`."""
        raise NotImplementedError
