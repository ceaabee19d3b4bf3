"""Learn a group's own constants from its runs on record."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from coldfield.cli.lines import in_lines
from coldfield.cli.records_options import data_options
from coldfield.message import Message, Quantity, message, number
from coldfield.words import word

if TYPE_CHECKING:
    from coldfield.app.coaching.answers import LearnedAnswer, LearnedConstant


@click.command("learn")
@data_options
@click.option("--course", help="Only the runs of this course: its name or id.")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")
def command(data: Path | None, database: str | None, course: str | None, as_json: bool) -> None:
    """Learn the group's own figures from its runs on record.

    The difficulty of each drill is removed by rehearsing that same drill as it was buried. Where
    the runs show nothing, the setting is kept. Splits alone are enough. For training and planning
    only.
    """
    from rich.console import Console
    from rich.progress import Progress

    from coldfield.app.answers import json_text
    from coldfield.app.coaching.group_runs import course_called, group_runs
    from coldfield.app.coaching.learning import learn_from, learned_answer
    from coldfield.app.records.data import data_at, reading

    with reading(data_at(data, database)) as records:
        group = group_runs(records, None if course is None else course_called(records, course))
    with Progress(console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task(word("command.learn.rehearsing"), total=None)
        learned = learn_from(
            group, progress=lambda done, total: bar.update(task, completed=done, total=total)
        )
    answer = learned_answer(group, learned)
    click.echo(json_text(answer) if as_json else in_lines(_lines(answer)))


def _lines(answer: LearnedAnswer) -> list[Message]:
    told = [one for one in answer.constants if one.learned]
    unknown = [one.words for one in answer.constants if not one.learned and one.person is None]
    return [
        *answer.headlines,
        *(_constant(one) for one in told),
        *([message("command.learn.not_learned", names=tuple(unknown))] if unknown else []),
        *answer.outliers,
        *answer.left_out,
        *(message("command.note_line", note=note) for note in answer.notes),
    ]


def _constant(one: LearnedConstant) -> Message:
    told = message(
        "command.learn.constant",
        what=one.words,
        constant=one.name,
        middle=_two_digits(one.middle),
        low=_two_digits(one.low),
        high=_two_digits(one.high),
        setting=_two_digits(one.prior_middle),
        n=one.runs,
    )
    if one.person_name is None:
        return message("command.learn.group", told=told)
    return message("command.learn.person", person=one.person_name, told=told)


def _two_digits(value: float) -> Quantity:
    return number(float(f"{value:.2g}"))
