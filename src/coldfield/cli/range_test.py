"""Fit a receiver's figures to measured ranges."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from coldfield.cli.lines import in_lines
from coldfield.cli.strip_width import Factors
from coldfield.message import Message, message, number

if TYPE_CHECKING:
    from coldfield.app.hearing.answers import RangeTestAnswer


@click.command("range-test")
@click.option(
    "--coaxial", type=Factors(), required=True, help="Runs with both antennas in one line, m: 41,44,43."
)
@click.option("--coplanar", type=Factors(), default=(), help="Runs side by side, antennas parallel, m.")
@click.option("--upright", type=Factors(), default=(), help="Runs against an upright set, m.")
@click.option(
    "--field-at-10m-ua",
    type=float,
    default=1.0,
    show_default=True,
    help="Field of the set that transmitted, uA/m at 10 m.",
)
@click.option(
    "--antennas", type=click.IntRange(1, 3), default=3, show_default=True, help="Antennas of the receiver."
)
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")
def command(
    coaxial: tuple[float, ...],
    coplanar: tuple[float, ...],
    upright: tuple[float, ...],
    field_at_10m_ua: float,
    antennas: int,
    as_json: bool,
) -> None:
    """Fit a receiver's threshold and upright antenna to measured ranges, three runs each."""
    from coldfield.app.answers import json_text
    from coldfield.app.hearing.teaching import range_test

    found = range_test(
        coaxial_runs_m=coaxial,
        coplanar_runs_m=coplanar,
        upright_runs_m=upright,
        reference_field_at_10m_a_per_m=1e-6 * field_at_10m_ua,
        antennas=antennas,
    )
    click.echo(json_text(found) if as_json else in_lines(_lines(found)))


def _lines(found: RangeTestAnswer) -> list[Message]:
    from coldfield.app.answers import json_text

    reach, reach_error = number(found.coaxial_range_m, 1), number(found.coaxial_range_error_m, 1)
    threshold = number(found.receiver.threshold_na_per_m, 1)
    threshold_error = number(found.threshold_error_na_per_m, 1)
    lines = [
        message("command.range_test.range", range=reach, error=reach_error),
        message("command.range_test.threshold", threshold=threshold, error=threshold_error),
    ]
    if found.upright_factor is not None and found.upright_factor_error is not None:
        factor, error = number(found.upright_factor, 1), number(found.upright_factor_error, 1)
        lines.append(message("command.range_test.upright", factor=factor, error=error))
    if found.agreement_in_standard_errors is not None:
        errors = number(found.agreement_in_standard_errors, 1)
        lines.append(message("command.range_test.agreement", errors=errors))
    lines += [message("command.note", note=note) for note in found.notes]
    return [*lines, message("command.range_test.receiver", receiver=json_text(found.receiver))]
