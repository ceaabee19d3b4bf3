"""The command line: one thin command per module, loaded only when it is called."""

from __future__ import annotations

import logging
import os
import sys
from importlib import import_module
from typing import Any

import click

import coldfield
from coldfield.app.jobs.ending import ends_in_order
from coldfield.cli.language import speak
from coldfield.errors import ColdfieldError

COMMANDS: dict[str, tuple[str, str]] = {
    "backup": ("coldfield.cli.backup", "Copy the records into one file, while they are in use."),
    "export": ("coldfield.cli.export", "Write all records into one open zip."),
    "forget": ("coldfield.cli.forget", "Remove a person everywhere, including tracks."),
    "import": ("coldfield.cli.import_", "Read an exported zip into empty records."),
    "restore": ("coldfield.cli.restore", "Replace the records with a backup."),
    "clock": ("coldfield.cli.clock", "Write the clock for the phone into a folder."),
    "debrief": ("coldfield.cli.debrief", "Show what happened in a run, from tracks and splits."),
    "demo": ("coldfield.cli.demo", "Serve the demo drill and its debrief on this machine."),
    "fine": ("coldfield.cli.fine", "Show where the lowest reading lies over a burial, for probing."),
    "ground": ("coldfield.cli.ground", "Screen a practice site for steep ground above it."),
    "learn": ("coldfield.cli.learn", "Learn the group's own figures from its runs on record."),
    "new": ("coldfield.cli.new", "Start a drill file from a boundary in GeoJSON or GPX."),
    "noise": ("coldfield.cli.noise", "Show how interference shortens the range, by distance."),
    "overlap": ("coldfield.cli.overlap", "Show how the sets of a drill hide each other's pulses."),
    "probing": ("coldfield.cli.probing", "Show how likely a probe line strikes, and how long it takes."),
    "propose": ("coldfield.cli.propose", "Propose drills for a group, its ground and a wish."),
    "pulse": ("coldfield.cli.pulse", "Measure the timing of a set's pulses in a recording."),
    "range-test": ("coldfield.cli.range_test", "Fit a receiver's figures to measured ranges."),
    "rehearse": ("coldfield.cli.rehearse", "Play a drill many times in the computer."),
    "schema": ("coldfield.cli.schema", "Print the JSON Schema of the drill file."),
    "serve": ("coldfield.cli.serve", "Serve the records to the browser on this machine."),
    "sheet": ("coldfield.cli.sheet", "Write the sheet for hiding the sets, and the lane card."),
    "signal": ("coldfield.cli.signal", "Show what a receiver hears at a place, or draw the hearing map."),
    "strip-width": ("coldfield.cli.strip_width", "Work out how wide to search today."),
    "strips": ("coldfield.cli.strips", "Share the ground: one lane plan for all searchers."),
}
"""Name -> (module with a click command named `command`, its line in the list of commands)."""


class Commands(click.Group):
    """A group that imports a command's module only when that command is called."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Return all names, sorted."""
        return sorted(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Return the command with that name, or None."""
        if cmd_name not in COMMANDS:
            return None
        command = import_module(COMMANDS[cmd_name][0]).command
        assert isinstance(command, click.Command)
        return command

    def invoke(self, ctx: click.Context) -> Any:
        """Run a command; report errors, one line per fault, while its language is still set."""
        try:
            return super().invoke(ctx)
        except ColdfieldError as error:
            for line in str(error).splitlines():
                click.echo(f"coldfield: {line}", err=True)
            raise

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Write the list of commands from the table, without importing any of them."""
        with formatter.section("Commands"):
            formatter.write_dl([(name, COMMANDS[name][1]) for name in self.list_commands(ctx)])


@click.group(cls=Commands, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(coldfield.__version__, prog_name="coldfield")
@click.option(
    "--language",
    metavar="TAG",
    envvar="COLDFIELD_LANGUAGE",
    show_envvar=True,
    help="Language of all output and drawings, such as en.",
)
@click.pass_context
def group(ctx: click.Context, language: str | None) -> None:
    """Plan, rehearse and debrief avalanche companion-rescue drills.

    For training and planning only: in a real accident call the rescue service and use your training.
    """
    speak(ctx, language)


def main() -> None:
    """Run the command line; every ColdfieldError, which has been reported by then, ends with exit code 2."""
    _one_thread_for_algebra()
    _say_what_was_found()
    try:
        with ends_in_order():
            group(standalone_mode=True)
    except ColdfieldError:
        sys.exit(2)
    except OSError as error:
        # An error for which no command has words: print the file and the system's message.
        if error.filename is None or error.strerror is None:
            raise
        click.echo(f"coldfield: {error.filename}: {error.strerror}", err=True)
        sys.exit(2)


def _one_thread_for_algebra() -> None:
    """Have NumPy solve on one thread, in the processes started from here too; before it is imported.

    Our matrices are small: more threads mostly wait for each other, and take twice the processor time.
    """
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")


def _say_what_was_found() -> None:
    """Report on stderr what opening the records found, such as a command that was cut off."""
    handler = logging.StreamHandler()
    handler.setFormatter(logging.Formatter("coldfield: %(message)s"))
    log = logging.getLogger("coldfield.records")
    log.addHandler(handler)
    log.propagate = False


if __name__ == "__main__":
    main()
