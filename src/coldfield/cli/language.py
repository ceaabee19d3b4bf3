"""The option for the language of a command's output."""

from __future__ import annotations

import click


def speak(ctx: click.Context, tag: str | None) -> None:
    """Use a language for all output until the command has ended.

    Raises
    ------
    BadInput
        If there are no words in that language.
    """
    from coldfield.errors import BadInput
    from coldfield.message import message
    from coldfield.words import language_of, languages, speaking

    if not tag:
        return
    found = language_of(tag)
    if found is None:
        known = tuple(languages())
        raise BadInput(message("fault.no_language", language=tag[:20], known=known).at("--language"))
    ctx.with_resource(speaking(found.tag))
