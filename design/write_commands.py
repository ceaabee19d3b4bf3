"""Write docs/commands.md from the --help of each command. Run: python design/write_commands.py."""

from __future__ import annotations

from importlib import import_module
from pathlib import Path

import click

from coldfield.cli.main import COMMANDS, group

HEAD = """# All commands

Written from `--help`. Every command prints for people; with `--json`, where it stands, one JSON object on
stdout and nothing else. Exit 0: done. Exit 2: bad input, one line per fault on stderr. What is said, drawn
and written is in English, or in the language that `--language` (`COLDFIELD_LANGUAGE`) names.
"""


def reference() -> str:
    """Return the command reference as Markdown."""
    parts = [HEAD]
    # Click caches a command's help option from the first context: call this in a fresh process.
    root = click.Context(group, info_name="coldfield", help_option_names=["-h", "--help"], terminal_width=100)
    parts.append(f"## coldfield\n\n```text\n{root.get_help()}\n```\n")
    for name in sorted(COMMANDS):
        command = import_module(COMMANDS[name][0]).command
        context = click.Context(
            command, info_name=name, parent=root, max_content_width=100, terminal_width=100
        )
        parts.append(f"## coldfield {name}\n\n```text\n{command.get_help(context)}\n```\n")
    return "\n".join(parts)


if __name__ == "__main__":
    (Path(__file__).parents[1] / "docs" / "commands.md").write_text(reference())
