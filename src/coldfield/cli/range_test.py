"""Fit a receiver's figures to measured ranges."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from coldfield.cli.strip_width import Factors

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
@click.option("--antennas", type=click.IntRange(1, 3), default=3, show_default=True, help="Of the receiver.")
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
    click.echo(json_text(found) if as_json else "\n".join(_lines(found)))


def _lines(found: RangeTestAnswer) -> list[str]:
    from coldfield.app.answers import json_text

    receiver = found.receiver
    lines = [
        f"Range on the axis: {found.coaxial_range_m:.1f} +- {found.coaxial_range_error_m:.1f} m",
        f"Threshold: {receiver.threshold_na_per_m:.1f} +- {found.threshold_error_na_per_m:.1f} nA/m",
    ]
    if found.upright_factor is not None:
        lines.append(
            f"Upright antenna: {found.upright_factor:.1f} +- {found.upright_factor_error:.1f} times "
            "less sensitive than the best"
        )
    if found.agreement_in_standard_errors is not None:
        lines.append(
            f"Coaxial and coplanar runs differ by {found.agreement_in_standard_errors:.1f} standard errors"
        )
    lines += [f"Note: {note}." for note in found.notes]
    return [*lines, 'For the drill file: "receiver": ' + json_text(receiver)]
