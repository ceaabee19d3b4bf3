"""Measure period, length and jitter of a set's pulses in a recording."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from coldfield.cli.lines import in_lines
from coldfield.message import Message, Quantity, message, number

if TYPE_CHECKING:
    from coldfield.app.kit.pulse import RecordedPulse
    from coldfield.beacon.pulse_limits import Source


@click.command("pulse")
@click.argument("recording", metavar="FILE.wav")
@click.option(
    "--from",
    "recorded_from",
    type=click.Choice(["coil", "receiver", "unknown"]),
    default="unknown",
    show_default=True,
    help="What was recorded: a coil; a receiver that is known to pass the pulse through; or unknown. "
    "Only the first two show how long a pulse lasts.",
)
@click.option("--picture", help="Write the strength over time to this file: .svg or .png.")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")
def command(recording: str, recorded_from: Source, picture: str | None, as_json: bool) -> None:
    """Measure period, on and off time, and jitter of the set recorded in FILE.wav.

    This never clears a set: only its maker's service can say whether it is in order.
    """
    from coldfield.app.answers import json_text
    from coldfield.app.kit.pulse import load_pulse, write_pulse_chart

    found = load_pulse(recording, recorded_from=recorded_from)
    if picture:
        write_pulse_chart(found, picture)
    click.echo(json_text(found) if as_json else in_lines(_lines(found)))


def _lines(found: RecordedPulse) -> list[Message]:
    rows = [
        message("command.pulse.period", value=_value(found.period_ms, found.period_error_ms)),
        message("command.pulse.on", value=_value(found.on_ms, found.on_error_ms)),
        message("command.pulse.off", value=_value(found.off_ms, found.on_error_ms)),
        message("command.pulse.jitter", value=_value(found.jitter_ms, None)),
        message("command.pulse.pulses", n=found.pulses),
    ]
    verdicts = (found.verdict, found.period_verdict, found.on_verdict, found.off_verdict)
    told = dict(zip(("verdict", "period", "on", "off"), map(_verdict, verdicts), strict=True))
    notes = [message("command.note", note=note) for note in found.reasons]
    return [*rows, message("command.pulse.verdict", **told), *notes]


def _value(value: float | None, error: float | None) -> Message:
    if value is None:
        return message("pulse.cannot_tell")
    told: Quantity = number(value, 1)
    if error is None:
        return message("command.pulse.ms", value=told)
    return message("command.pulse.ms_error", value=told, error=number(error, 1))


def _verdict(verdict: str) -> Message:
    return {
        "within": message("pulse.within"),
        "outside": message("pulse.outside"),
        "cannot tell": message("pulse.cannot_tell"),
    }[verdict]
