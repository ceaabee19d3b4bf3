"""The option that says in which language a command speaks."""

from __future__ import annotations

import click


def speak(ctx: click.Context, tag: str | None) -> None:
    """Say, draw and write everything in a language until the command has ended.

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
