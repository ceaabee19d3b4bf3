"""Propose drills for a group, its ground and a wish."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, cast

import click

from coldfield.cli.lines import in_lines
from coldfield.cli.records_options import data_options
from coldfield.message import Message, about, message, number
from coldfield.words import word

if TYPE_CHECKING:
    from coldfield.app.coaching.proposing import ProposedAnswer
    from coldfield.coaching.candidates import Wish


@click.command("propose")
@click.argument("drill")
@click.option("--p90-min", help="Nine of ten runs free the last airway between these minutes: 7,11.")
@click.option(
    "--harder", is_flag=True, help="Instead: harder than the group's last run, or without one than DRILL."
)
@click.option("--wish", help="close-pair, overlap, upright or deep; separate several with commas.")
@click.option(
    "--found-min", type=float, default=0.95, show_default=True, help="Share of runs that free everybody."
)
@click.option(
    "--ladder",
    type=int,
    default=0,
    help="Number of drills, spread evenly from the first minutes to the last.",
)
@click.option("--seed", type=int, default=1, show_default=True, help="Same seed, same proposals.")
@click.option("--own", is_flag=True, help="Use the group's own figures, learned from its runs on record.")
@click.option("--course", help="With --own: only the runs of this course, its name or id.")
@data_options
@click.option("--out", type=click.Path(path_type=Path, file_okay=False), help="Write the drill files here.")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")
def command(
    drill: str,
    p90_min: str | None,
    harder: bool,
    wish: str | None,
    found_min: float,
    ladder: int,
    seed: int,
    own: bool,
    course: str | None,
    data: Path | None,
    database: str | None,
    out: Path | None,
    as_json: bool,
) -> None:
    """Propose different drills with DRILL's group, ground, sets and number of burials.

    The minutes are those of the last airway over all runs, with the constants drawn too, in runs
    played after the choice. For training and planning only: look at the ground before you bury
    anything.
    """
    from rich.console import Console
    from rich.progress import Progress

    from coldfield.app.answers import json_text
    from coldfield.app.coaching.last_run import last_run_at
    from coldfield.app.coaching.own import own_of
    from coldfield.app.coaching.proposing import Wanted, propose_drills
    from coldfield.app.drills.files import load_drill

    loaded = load_drill(drill)
    wanted = Wanted(
        p90_min=None if p90_min is None else _minutes(p90_min),
        wish=cast("tuple[Wish, ...]", tuple(dict.fromkeys(_parts(wish)))),
        found_min=found_min,
        seed=seed,
        harder=harder,
        ladder=ladder,
    )
    figures = own_of(loaded, data, database, course, seed=seed) if own else None
    with Progress(console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task(word("command.propose.playing"), total=None)
        answer = propose_drills(
            loaded,
            wanted,
            own=figures,
            last=last_run_at(loaded, data, database) if harder else None,
            progress=lambda done, total: bar.update(task, completed=done, total=total),
        )
    written = [] if out is None else _write(answer, out)
    click.echo(json_text(answer) if as_json else in_lines([*_lines(answer), *written]))


def _parts(wish: str | None) -> list[str]:
    return [part.strip() for part in (wish or "").split(",") if part.strip()]


def _minutes(text: str) -> tuple[float, float]:
    from coldfield.errors import BadInput

    try:
        low, high = (float(part) for part in text.split(","))
    except ValueError:
        raise BadInput(message("fault.propose_minutes", most=number(60)).at("--p90-min")) from None
    return low, high


def _write(answer: ProposedAnswer, out: Path) -> list[Message]:
    import json

    from coldfield.app.drills.files import write_whole

    out.mkdir(parents=True, exist_ok=True)
    lines = []
    for n, one in enumerate(answer.proposals, 1):
        path = out / f"proposal-{n}.json"
        write_whole(path, (json.dumps(one.drill, indent=2, ensure_ascii=False) + "\n").encode())
        lines.append(message("command.propose.written", path=str(path)))
    return lines


def _lines(answer: ProposedAnswer) -> list[Message]:
    lines = [message("command.propose.head", n=answer.candidates, figures=answer.figures)]
    for k, one in enumerate(answer.proposals, 1):
        told = one.predicted
        lines.append(
            message(
                "command.propose.one",
                k=number(k),
                half=about(told.p50_s),
                p90=about(told.p90_s),
                doubt=about(told.p90_doubt_s),
                found=number(100.0 * told.found_fraction, 1),
            )
        )
        lines += [_burial(burial) for burial in one.drill["burials"]]
        lines += [message("command.propose.why", why=why) for why in one.why]
        lines += [message("command.propose.trains", what=what) for what in one.trains]
    return [*lines, *(message("command.note_line", note=note) for note in answer.notes)]


def _burial(burial: dict[str, object]) -> Message:
    east, north = cast("list[float]", burial["position_m"])
    antenna = cast("dict[str, float]", burial["antenna"] or {"azimuth_deg": 0.0, "tilt_deg": 0.0})
    return message(
        "command.propose.burial",
        id=str(burial["id"]),
        east=number(east),
        north=number(north),
        depth=number(cast("float", burial["depth_m"])),
        azimuth=number(antenna["azimuth_deg"], 0),
        tilt=number(antenna["tilt_deg"], 0),
    )
