"""The list of commands under a help text: each with its whole first sentence, which wraps instead of being cut."""

from typing import Any

from typer.core import TyperGroup

WHOLE = 1000
"""Characters; more than any first sentence has."""


class Listing(TyperGroup):
    """A group of commands whose help cuts no sentence."""

    def format_commands(self, ctx: Any, formatter: Any) -> None:
        """Write the list."""
        rows = [(name, command.get_short_help_str(WHOLE)) for name, command in self.commands.items()]
        with formatter.section("Commands"):
            formatter.write_dl(rows)
