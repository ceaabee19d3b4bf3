"""Splits that occur twice."""

from coldfield.drill.repeats import repeats_of
from coldfield.drill.run import Split


def row(
    split: str, burial: str | None = None, who: str | None = None, t: float = 10.0, note: str = ""
) -> Split:
    return Split(split=split, burial=burial, searcher=who, since_alarm_s=t, note=note)


def test_contract_rows_of_one_person_or_of_nobody_repeat_those_of_two_people_do_not() -> None:
    assert repeats_of([row("first_signal", "A", "i"), row("first_signal", "A", "b")]) == ()
    assert repeats_of([row("probe_strike", "A", "i"), row("probe_strike", "B", "i")]) == ()
    [one] = repeats_of([row("probe_strike", "A", "i"), row("alarm"), row("probe_strike", "A", t=12.0)])
    assert (one.split, one.burial, one.searcher, one.rows) == ("probe_strike", "A", "i", (0, 2))
    [one] = repeats_of([row("alarm", who="i"), row("alarm", who="b", t=3.0)])
    assert one.rows == (0, 1)


def test_contract_own_words_and_observations_repeat_only_where_all_is_alike() -> None:
    rows = [row("observation", note="call made"), row("observation", note="call made", t=11.0)]
    assert repeats_of(rows) == ()
    assert [one.rows for one in repeats_of([*rows, rows[0]])] == [(0, 2)]
    assert [one.rows for one in repeats_of([row("set_out", "A", t=1.0), row("set_out", "A", t=2.0)])] == []
