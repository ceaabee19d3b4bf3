"""Work out how wide to search today."""

from __future__ import annotations

from typing import Any

import click

from coldfield.cli.lines import in_lines


class Factors(click.ParamType[tuple[float, ...]]):
    """One to three numbers separated by commas."""

    name = "a,b,c"

    def convert(
        self, value: object, param: click.Parameter | None, ctx: click.Context | None
    ) -> tuple[float, ...]:
        """Return the numbers."""
        if isinstance(value, tuple):
            return value
        try:
            return tuple(float(part) for part in str(value).split(","))
        except ValueError:
            from coldfield.words import word

            self.fail(word("fault.not_numbers", text=str(value), example="1,1,3"), param, ctx)


@click.command("strip-width")
@click.argument("drill", required=False)
@click.option(
    "--field-at-10m-ua", type=float, help="Transmitter's field on the axis at 10 m, uA/m; default 1.0."
)
@click.option("--threshold-na", type=float, help="Receiver's threshold, nA/m; default 80.")
@click.option("--coaxial-range-m", type=float, help="Or its range on the axis, m, against the reference set.")
@click.option("--vertical-range-m", type=float, help="Its range against an upright set, m.")
@click.option(
    "--reference-field-at-10m-ua",
    type=float,
    help="Field of the set used in the range test, uA/m at 10 m; default 1.0.",
)
@click.option("--antennas", type=click.IntRange(1, 3), help="Number of antennas; default 3.")
@click.option(
    "--antenna-factors", type=Factors(), help="How many times less sensitive than the best; default 1,1,3."
)
@click.option(
    "--noise-rise-db",
    type=float,
    help="Today's noise above quiet conditions, dB; default: the drill's, otherwise 0.",
)
@click.option("--range-today-m", type=float, help="Or today's range on the axis, shortened by interference.")
@click.option("--range-sd-m", type=float, help="Scatter of the measured range, m.")
@click.option("--pod", type=float, default=0.98, show_default=True, help="Wanted chance of being heard.")
@click.option("--width-m", "widths", type=float, multiple=True, help="A width to assess; can be repeated.")
@click.option(
    "--area-m2", type=float, default=10_000.0, show_default=True, help="Ground for the timed width."
)
@click.option("--searchers", type=int, default=2, show_default=True, help="Searchers for the timed width.")
@click.option(
    "--after-signal-min",
    type=float,
    default=8.0,
    show_default=True,
    help="Minutes from first signal to airway.",
)
@click.option("--picture", help="Write the chart to this file: .svg or .png.")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")
def command(drill: str | None, picture: str | None, as_json: bool, **typed: Any) -> None:
    """Work out how wide to search: for the weakest pair of DRILL's group, or for given figures.

    Without DRILL: one transmitter of 1.0 uA/m and one receiver of 80 nA/m with three antennas, unless you
    give other figures. With DRILL, a receiver or transmitter that you give replaces the group's.
    """
    from coldfield.app.answers import json_text
    from coldfield.app.drills.files import load_drill
    from coldfield.app.strips.width import strip_widths
    from coldfield.app.strips.width_answer import strip_width_answer, strip_widths_lines

    result = strip_widths(_question(typed), load_drill(drill) if drill else None)
    if picture:
        from coldfield.app.hearing.pictures import write_strip_width_chart

        write_strip_width_chart(result, picture)
    click.echo(json_text(strip_width_answer(result)) if as_json else in_lines(strip_widths_lines(result)))


def _question(typed: dict[str, Any]) -> Any:
    from coldfield.app.strips.width import Question
    from coldfield.search.width.timed_width import Scenario

    def scaled(key: str, factor: float) -> float | None:
        return None if typed[key] is None else typed[key] * factor

    same = ("coaxial_range_m", "vertical_range_m", "antennas", "antenna_factors", "noise_rise_db")
    return Question(
        field_at_10m_a_per_m=scaled("field_at_10m_ua", 1e-6),
        threshold_a_per_m=scaled("threshold_na", 1e-9),
        reference_field_at_10m_a_per_m=scaled("reference_field_at_10m_ua", 1e-6),
        widths_m=tuple(typed["widths"]),
        scenario=Scenario(
            area_m2=typed["area_m2"],
            searchers=typed["searchers"],
            first_signal_to_airway_s=60.0 * typed["after_signal_min"],
        ),
        **{key: typed[key] for key in (*same, "range_today_m", "range_sd_m", "pod")},
    )
