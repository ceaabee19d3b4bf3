"""Play a drill many times in the computer."""

from __future__ import annotations

from collections.abc import Callable
from functools import reduce
from pathlib import Path
from typing import TYPE_CHECKING

import click

from coldfield.cli.lines import in_lines
from coldfield.cli.records_options import data_options
from coldfield.message import Message, Quantity, about, duration, message, number
from coldfield.words import word

if TYPE_CHECKING:
    from coldfield.app.rehearsals.rehearse import Rehearsed
    from coldfield.rescue.order import DigOrder, Team
    from coldfield.rescue.outcome import BurialOutcome
    from coldfield.rescue.worth import Worth


@click.command("rehearse")
@click.argument("drill")
@click.option("--runs", type=int, default=1000, show_default=True, help="Number of runs.")
@click.option("--seed", type=int, default=1, show_default=True, help="Same seed, same numbers.")
@click.option(
    "--workers",
    type=int,
    default=1,
    show_default=True,
    help="Worker processes; the results do not depend on it.",
)
@click.option(
    "--strip-width-m", type=float, help="Width on the snow; default: the drill's, otherwise the edge width."
)
@click.option("--anywhere", is_flag=True, help="Draw the places of the burials again in each run.")
@click.option(
    "--settings", "settings_too", is_flag=True, help="Also show which settings make the wider band wide."
)
@click.option("--own", is_flag=True, help="Use the group's own figures, learned from its runs on record.")
@click.option("--course", help="With --own: only the runs of this course, its name or id.")
@data_options
@click.option("--worth", is_flag=True, help="Also play possible changes, to find what helps most.")
@click.option("--chart", help="Write phases, survival and minutes to the airway: .svg or .png.")
@click.option("--traces", help="Write the walked lines of a fast, a median, a slow and a failed run.")
@click.option("--worth-chart", help="Write what helps most as a picture; includes --worth.")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")
def command(
    drill: str,
    runs: int,
    seed: int,
    workers: int,
    strip_width_m: float | None,
    anywhere: bool,
    settings_too: bool,
    own: bool,
    course: str | None,
    data: Path | None,
    database: str | None,
    worth: bool,
    chart: str | None,
    traces: str | None,
    worth_chart: str | None,
    as_json: bool,
) -> None:
    """Play DRILL many times: minutes to each airway, and where they go.

    Times count from the alarm. There are two bands: one allows for the uncertainty of the settings,
    the other shows how runs scatter with fixed settings. A run that does not free an airway counts
    as later than all others. For training and planning only.
    """
    from rich.console import Console
    from rich.progress import Progress

    from coldfield.app.answers import json_text
    from coldfield.app.coaching.own import own_of
    from coldfield.app.drills.files import load_drill
    from coldfield.app.rehearsals.document import rehearsal_answer
    from coldfield.app.rehearsals.rehearse import rehearse_drill, worth_of_changes
    from coldfield.app.rehearsals.runs import must_compile

    loaded = load_drill(drill)
    figures = own_of(loaded, data, database, course, seed=seed) if own else None
    if must_compile(loaded, runs):
        click.echo(word("command.rehearse.compiling"), err=True)
    with Progress(console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task(word("command.rehearse.playing"), total=None)
        rehearsed = rehearse_drill(
            loaded,
            runs=runs,
            seed=seed,
            workers=workers,
            strip_width_m=strip_width_m,
            anywhere=anywhere,
            own=figures,
            progress=lambda done, total: bar.update(task, completed=done, total=total),
        )
        brought = None
        if worth or worth_chart is not None:
            task = bar.add_task(word("command.rehearse.changing"), total=None)
            brought = worth_of_changes(
                rehearsed,
                workers=workers,
                progress=lambda done, total: bar.update(task, completed=done, total=total),
            )
    _draw(rehearsed, brought, chart=chart, traces=traces, worth_chart=worth_chart)
    if as_json:
        click.echo(json_text(rehearsal_answer(rehearsed, brought)))
    else:
        click.echo(in_lines(_lines(rehearsed, brought, settings_too=settings_too)))


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


def _lines(rehearsed: Rehearsed, worth: tuple[Worth, ...] | None, *, settings_too: bool) -> list[Message]:
    from coldfield.app.rehearsals.document import dig_order_of, own_figures, rehearsal_notes

    result, lanes = rehearsed.outcome, rehearsed.lanes
    head = message("command.rehearse.runs_no_set", runs=result.runs)
    if lanes is not None:
        width = number(lanes.strip_width_m, 1)
        head = message("command.rehearse.runs", runs=result.runs, width=width)
    survivors, error = number(result.expected_survivors, 3), number(result.standard_error, 3)
    count = len(result.burials)
    order, own = dig_order_of(rehearsed), own_figures(rehearsed)
    return [
        head,
        *([] if own is None else [own]),
        *(line for k in range(count) for line in _burial(rehearsed, k)),
        message("command.rehearse.survivors", survivors=survivors, error=error, n=count),
        *([] if order is None else [_order(order)]),
        *(_settings(rehearsed) if settings_too else []),
        *([] if worth is None else _worth(worth)),
        *(message("command.note_line", note=note) for note in rehearsal_notes()),
    ]


def _order(order: DigOrder) -> Message:
    teams = [_team(team) for team in order.teams]
    together = reduce(lambda one, more: message("command.rehearse.teams", one=one, next=more), teams)
    return message("command.rehearse.order", teams=together, survivors=number(order.survivors, 2))


def _team(team: Team) -> Message:
    burials: Message | str = team.burials[0]
    for burial in team.burials[1:]:
        burials = message("command.rehearse.then", one=burials, next=burial)
    return message("command.rehearse.team", n=team.people, burials=burials)


def _burial(rehearsed: Rehearsed, index: int) -> list[Message]:
    from coldfield.app.rehearsals.document import by_horizon, dig_times_of, freed_fraction, unsure_airway
    from coldfield.rescue.wording import AS_RUNS, AS_SURE, eight_of_ten, not_freed

    burial, horizon = rehearsed.outcome.burials[index], rehearsed.settings.horizon_s
    airway, wide = by_horizon(burial.seconds["airway"], horizon), unsure_airway(rehearsed, index)
    times = eight_of_ten(wide.p10, wide.p90, horizon)
    narrow = eight_of_ten(airway.p10, airway.p90, horizon)
    scatter = message("command.rehearse.scatter", times=narrow, runs=AS_RUNS)
    if airway.p50 is not None:
        half = about(airway.p50)
        scatter = message("command.rehearse.scatter_half", times=narrow, runs=AS_RUNS, half=half)
    lines = [message("command.rehearse.airway", id=burial.id, times=times, sure=AS_SURE), scatter]
    late = not_freed(freed_fraction(rehearsed, index), horizon)
    if late is not None:
        found = number(100 * burial.found_fraction, 1)
        lines.append(message("command.rehearse.late", late=late, share=found))
    dig = dig_times_of(rehearsed.drill)[burial.id]
    curves = [number(pick(burial.survival_by_curve.values()), 2) for pick in (min, max)]
    return [
        *lines,
        *_phases(burial),
        message(
            "command.rehearse.digging",
            time=duration(dig.seconds),
            low=duration(dig.low_s),
            high=duration(dig.high_s),
        ),
        message(
            "command.rehearse.survival",
            survival=number(burial.survival, 2),
            low=curves[0],
            high=curves[1],
        ),
    ]


def _phases(burial: BurialOutcome) -> list[Message]:
    from coldfield.rescue.played import REASONS

    halves = {name: band.p50 for name, band in burial.seconds.items()}
    said: dict[str, Callable[[Quantity], Message]] = {
        "signal": lambda time: message("command.rehearse.phase.signal", time=time),
        "coarse": lambda time: message("command.rehearse.phase.coarse", time=time),
        "fine": lambda time: message("command.rehearse.phase.fine", time=time),
        "probe": lambda time: message("command.rehearse.phase.probe", time=time),
        "dig": lambda time: message("command.rehearse.phase.dig", time=time),
    }
    parts = tuple(say(duration(half)) for name, say in said.items() if (half := halves[name]) is not None)
    lines = [message("command.rehearse.phases", phases=parts)] if parts else []
    return lines + [
        message("command.rehearse.not_found", share=number(100 * share, 1), reason=REASONS[reason])
        for reason, share in burial.not_found.items()
    ]


def _settings(rehearsed: Rehearsed) -> list[Message]:
    from coldfield.app.rehearsals.constants import constant_words
    from coldfield.rescue.unsure import unsure

    made_by = [
        message(
            "command.rehearse.setting",
            words=constant_words(one.constant),
            constant=one.constant,
            share=number(100 * one.share, 0),
        )
        for one in unsure(rehearsed.unsure).made_by
    ]
    return [message("command.rehearse.settings"), *(made_by or [message("command.rehearse.no_setting")])]


def _worth(worth: tuple[Worth, ...]) -> list[Message]:
    told = [one for one in worth if one.counts and one.gain_minutes > 0.0]
    lines = [_change(one) for one in sorted(told, key=lambda one: -one.gain_minutes)]
    return [message("command.rehearse.helps"), *(lines or [message("command.rehearse.nothing_helps")])]


def _change(one: Worth) -> Message:
    gain = round(one.gain_survivors, 3) + 0.0
    line = message(
        "command.rehearse.change",
        change=one.change,
        minutes=number(one.gain_minutes, 2),
        error=number(one.minutes_standard_error, 2),
        sign="+" if gain >= 0.0 else "",
        survivors=number(gain, 3),
        survivors_error=number(one.standard_error, 3),
    )
    if one.helps_share is None:
        return line
    return message("command.rehearse.change_often", change=line, share=number(100.0 * one.helps_share, 0))
