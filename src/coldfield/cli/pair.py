"""Two numbers separated by a comma, an option type of several commands."""

from __future__ import annotations

import click


class Pair(click.ParamType[tuple[float, float]]):
    """Two numbers separated by a comma; `name` is for the help, `example` for the fault."""

    def __init__(self, *, name: str, example: str) -> None:
        self.name = name
        self.example = example

    def convert(
        self, value: object, param: click.Parameter | None, ctx: click.Context | None
    ) -> tuple[float, float]:
        """Return the two numbers."""
        if isinstance(value, tuple):
            return value
        try:
            first, second = (float(part) for part in str(value).split(","))
        except ValueError:
            from coldfield.words import word

            told = word("fault.not_two_numbers", text=str(value), example=self.example)
            self.fail(told, param, ctx)
        return first, second
