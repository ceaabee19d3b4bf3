"""Play a drill many times in the computer."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from coldfield.app.rehearse import Rehearsed
    from coldfield.rescue.rehearsal import Band
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
    worth: bool,
    chart: str | None,
    traces: str | None,
    worth_chart: str | None,
    as_json: bool,
) -> None:
    """Play DRILL many times: minutes to each airway, and where they go.

    Times count from the alarm. For training and planning only.
    """
    import json

    from rich.console import Console
    from rich.progress import Progress

    from coldfield.app.drills import load_drill
    from coldfield.app.rehearsal_document import rehearsal_document
    from coldfield.app.rehearsal_runs import must_compile
    from coldfield.app.rehearse import rehearse_drill, worth_of_changes

    loaded = load_drill(drill)
    if must_compile(loaded, runs):
        click.echo("compiling the rehearsal for this machine: once, about a minute", err=True)
    with Progress(console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("runs", total=runs)
        rehearsed = rehearse_drill(
            loaded,
            runs=runs,
            seed=seed,
            workers=workers,
            strip_width_m=strip_width_m,
            anywhere=anywhere,
            progress=lambda done, _: bar.update(task, completed=done),
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
        click.echo(json.dumps(rehearsal_document(rehearsed, brought)))
    else:
        _print(rehearsed, brought)


def _draw(
    rehearsed: Rehearsed,
    worth: tuple[Worth, ...] | None,
    *,
    chart: str | None,
    traces: str | None,
    worth_chart: str | None,
) -> None:
    from coldfield.app.rehearsal_pictures import write_rehearsal_chart, write_traces_chart, write_worth_chart

    if chart is not None:
        write_rehearsal_chart(rehearsed, chart)
    if traces is not None:
        write_traces_chart(rehearsed, traces)
    if worth_chart is not None and worth is not None:
        write_worth_chart(worth, worth_chart)


def _print(rehearsed: Rehearsed, worth: tuple[Worth, ...] | None) -> None:
    from coldfield.app.rehearsal_document import dig_order_of, dig_times_of, rehearsal_notes

    result, digs = rehearsed.outcome, dig_times_of(rehearsed.drill)
    lanes = rehearsed.lanes
    words = "no set to search for" if lanes is None else f"strips {lanes.strip_width_m:.1f} m wide"
    click.echo(f"{result.runs} runs, {words}; times from the alarm")
    for burial in result.burials:
        airway = burial.seconds["airway"]
        if airway.p50 is None:
            seldom = f"found in {100 * burial.found_fraction:.0f} % of the runs"
            click.echo(f"{burial.id}: {seldom if burial.found_fraction else 'never found'}")
        else:
            click.echo(
                f"{burial.id}: airway free in {_range(airway)}, half of the runs within {_time(airway.p50)}"
            )
            parts = [
                f"{name} {_time(burial.seconds[name].p50)}"
                for name in ("signal", "coarse", "fine", "probe", "dig")
                if burial.seconds[name].p50 is not None
            ]
            click.echo(f"   half of the runs within: {', '.join(parts)}")
        for reason, share in burial.not_found.items():
            click.echo(f"   not found in {100 * share:.1f} % of the runs: {reason}")
        dig = digs[burial.id]
        click.echo(
            f"   digging, everybody with a shovel there: {_time(dig.seconds)}; {_time(dig.low_s)} to "
            f"{_time(dig.high_s)} at double and half the rate"
        )
        low, high = min(burial.survival_by_curve.values()), max(burial.survival_by_curve.values())
        click.echo(f"   survival {burial.survival:.2f}; {low:.2f} to {high:.2f} by the choice of curve")
    click.echo(
        f"expected survivors: {result.expected_survivors:.3f} +- {result.standard_error:.3f} "
        f"of {len(result.burials)}"
    )
    order = dig_order_of(rehearsed)
    if order is not None:
        teams = "; ".join(f"{team.people} dig {', then '.join(team.burials)}" for team in order.teams)
        click.echo(f"diggers, if teams stay together: {teams} ({order.survivors:.2f} expected survivors)")
    if worth:
        click.echo("what helps most (each change alone, the same runs and draws):")
    for change in [change for change in worth or () if change.counts]:
        survivors, minutes = _tidy(change.gain_survivors, 3), _tidy(change.gain_minutes, 2)
        click.echo(
            f"  {change.change}: {survivors:+.3f} +- {change.standard_error:.3f} survivors, "
            f"{minutes:+.2f} +- {change.minutes_standard_error:.2f} min to the airway saved"
            + ("" if change.helps_share is None else f"; helps in {change.helps_share:.0%} of the draws")
        )
    silent = [change.change for change in worth or () if not change.counts]
    if silent:
        click.echo(f"  too small to tell, or not the same for all constants: {', '.join(silent)}")
    for note in rehearsal_notes():
        click.echo(f"note: {note}")


def _tidy(value: float, digits: int) -> float:
    return round(value, digits) + 0.0


def _range(band: Band) -> str:
    return f"{_time(band.p10)} to {_time(band.p90)} in eight runs of ten"


def _time(seconds: float | None) -> str:
    if seconds is None:
        return "-"
    minutes, rest = divmod(round(seconds), 60)
    return f"{minutes} min {rest:02d} s" if minutes else f"{rest} s"
