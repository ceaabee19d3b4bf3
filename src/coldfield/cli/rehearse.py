"""Play a drill many times in the computer."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from coldfield.app.rehearsals.rehearse import Rehearsed
    from coldfield.rescue.rehearsal import BurialOutcome
    from coldfield.rescue.worth import Worth


@click.command("rehearse")
@click.argument("drill")
@click.option("--runs", type=int, default=1000, show_default=True, help="How many runs.")
@click.option("--seed", type=int, default=1, show_default=True, help="Same seed, same numbers.")
@click.option("--workers", type=int, default=1, show_default=True, help="Same numbers for any number.")
@click.option(
    "--strip-width-m", type=float, help="Width on the snow; default: the drill's, else the edge width."
)
@click.option("--anywhere", is_flag=True, help="What if the burials lay anywhere: drawn anew in each run.")
@click.option("--settings", "settings_too", is_flag=True, help="Also name what makes the wider band wide.")
@click.option("--worth", is_flag=True, help="Also play what could be different: what helps most.")
@click.option("--chart", help="Write phases, survival and minutes to the airway: .svg or .png.")
@click.option("--traces", help="Write the walked lines of a fast, a median, a slow and a failed run.")
@click.option("--worth-chart", help="Write what helps most as a picture; plays --worth too.")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")
def command(
    drill: str,
    runs: int,
    seed: int,
    workers: int,
    strip_width_m: float | None,
    anywhere: bool,
    settings_too: bool,
    worth: bool,
    chart: str | None,
    traces: str | None,
    worth_chart: str | None,
    as_json: bool,
) -> None:
    """Play DRILL many times: minutes to each airway, and where they go.

    Times count from the alarm. Two bands: as sure as the settings are, and as runs scatter with the settings
    as they stand. A run that does not free an airway counts as later than all others. For training and
    planning only.
    """
    from rich.console import Console
    from rich.progress import Progress

    from coldfield.app.answers import json_text
    from coldfield.app.drills.files import load_drill
    from coldfield.app.rehearsals.document import rehearsal_answer
    from coldfield.app.rehearsals.rehearse import rehearse_drill, worth_of_changes
    from coldfield.app.rehearsals.runs import must_compile

    loaded = load_drill(drill)
    if must_compile(loaded, runs):
        click.echo("compiling the rehearsal for this machine: once, about a minute", err=True)
    with Progress(console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("runs", total=None)
        rehearsed = rehearse_drill(
            loaded,
            runs=runs,
            seed=seed,
            workers=workers,
            strip_width_m=strip_width_m,
            anywhere=anywhere,
            progress=lambda done, total: bar.update(task, completed=done, total=total),
        )
        brought = None
        if worth or worth_chart is not None:
            task = bar.add_task("changes", total=None)
            brought = worth_of_changes(
                rehearsed,
                workers=workers,
                progress=lambda done, total: bar.update(task, completed=done, total=total),
            )
    _draw(rehearsed, brought, chart=chart, traces=traces, worth_chart=worth_chart)
    if as_json:
        click.echo(json_text(rehearsal_answer(rehearsed, brought)))
    else:
        _print(rehearsed, brought, settings_too=settings_too)


def _draw(
    rehearsed: Rehearsed,
    worth: tuple[Worth, ...] | None,
    *,
    chart: str | None,
    traces: str | None,
    worth_chart: str | None,
) -> None:
    from coldfield.app.rehearsals.pictures import write_rehearsal_chart, write_traces_chart, write_worth_chart

    if chart is not None:
        write_rehearsal_chart(rehearsed, chart)
    if traces is not None:
        write_traces_chart(rehearsed, traces)
    if worth_chart is not None and worth is not None:
        write_worth_chart(worth, worth_chart)


def _print(rehearsed: Rehearsed, worth: tuple[Worth, ...] | None, *, settings_too: bool) -> None:
    from coldfield.app.rehearsals.document import dig_order_of, rehearsal_notes

    result, lanes = rehearsed.outcome, rehearsed.lanes
    words = "no set to search for" if lanes is None else f"strips {lanes.strip_width_m:.1f} m wide"
    click.echo(f"{result.runs} runs, {words}; times from the alarm")
    for number in range(len(result.burials)):
        _print_burial(rehearsed, number)
    click.echo(
        f"expected survivors: {result.expected_survivors:.3f} +- {result.standard_error:.3f} "
        f"of {len(result.burials)}"
    )
    order = dig_order_of(rehearsed)
    if order is not None:
        teams = "; ".join(f"{team.people} dig {', then '.join(team.burials)}" for team in order.teams)
        click.echo(f"diggers, if teams stay together: {teams} ({order.survivors:.2f} expected survivors)")
    if settings_too:
        _print_settings(rehearsed)
    if worth is not None:
        _print_worth(worth)
    for note in rehearsal_notes():
        click.echo(f"note: {note}")


def _print_burial(rehearsed: Rehearsed, number: int) -> None:
    from coldfield.app.rehearsals.document import by_horizon, dig_times_of, freed_fraction, unsure_airway
    from coldfield.rescue.wording import AS_RUNS, AS_SURE, about, eight_of_ten, not_freed

    burial, horizon = rehearsed.outcome.burials[number], rehearsed.settings.horizon_s
    airway, wide = by_horizon(burial.seconds["airway"], horizon), unsure_airway(rehearsed, number)
    click.echo(f"{burial.id}: airway free, {eight_of_ten(wide.p10, wide.p90, horizon)}, {AS_SURE}")
    half = "" if airway.p50 is None else f", half by {about(airway.p50)}"
    click.echo(f"   {eight_of_ten(airway.p10, airway.p90, horizon)}, {AS_RUNS}{half}")
    late = not_freed(freed_fraction(rehearsed, number), horizon)
    if late:
        click.echo(f"   {late}; found in {100 * burial.found_fraction:.1f} %")
    _print_phases(burial)
    dig = dig_times_of(rehearsed.drill)[burial.id]
    click.echo(
        f"   digging, everybody with a shovel there: {_time(dig.seconds)}; {_time(dig.low_s)} to "
        f"{_time(dig.high_s)} at double and half the rate"
    )
    low, high = min(burial.survival_by_curve.values()), max(burial.survival_by_curve.values())
    click.echo(f"   survival {burial.survival:.2f}; {low:.2f} to {high:.2f} by the choice of curve")


def _print_phases(burial: BurialOutcome) -> None:
    parts = [
        f"{name} {_time(burial.seconds[name].p50)}"
        for name in ("signal", "coarse", "fine", "probe", "dig")
        if burial.seconds[name].p50 is not None
    ]
    if parts:
        click.echo(f"   half of the runs within: {', '.join(parts)}")
    for reason, share in burial.not_found.items():
        click.echo(f"   not found in {100 * share:.1f} % of the runs: {reason}")


def _print_settings(rehearsed: Rehearsed) -> None:
    from coldfield.app.rehearsals.constants import constant_words
    from coldfield.rescue.unsure import unsure

    made_by = unsure(rehearsed.unsure).made_by
    click.echo("settings that make the wider band, most first, with their share of it:")
    for one in made_by:
        click.echo(f"  {constant_words(one.constant)} ({one.constant}): {100 * one.share:.0f} %")
    if not made_by:
        click.echo("  none stands out from the scatter of the runs")


def _print_worth(worth: tuple[Worth, ...]) -> None:
    told = [one for one in worth if one.counts and one.gain_minutes > 0.0]
    click.echo("what helps most (each change alone, the same runs and draws):")
    for one in sorted(told, key=lambda one: -one.gain_minutes):
        often = (
            ""
            if one.helps_share is None
            else f"; helps in {100.0 * one.helps_share:.0f} % of the settings drawn"
        )
        click.echo(
            f"  {one.change}: {_tidy(one.gain_minutes, 2):+.2f} +- {one.minutes_standard_error:.2f} min "
            f"to the airway saved, {_tidy(one.gain_survivors, 3):+.3f} +- {one.standard_error:.3f} "
            f"survivors{often}"
        )
    if not told:
        click.echo("  nothing beyond two standard errors whatever the settings are; play more runs")


def _tidy(value: float, digits: int) -> float:
    return round(value, digits) + 0.0


def _time(seconds: float | None) -> str:
    if seconds is None:
        return "-"
    minutes, rest = divmod(round(seconds), 60)
    return f"{minutes} min {rest:02d} s" if minutes else f"{rest} s"
