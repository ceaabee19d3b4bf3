"""Work out the state of a run from the items of day files, in any order, each once (`docs/day_file.md`).

The phone reads its own items by the same rules; `tests/data/day/examples.json` holds both to them.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from math import floor
from typing import Any, Generic, Literal, TypeVar

from coldfield.app.day.joining import called_alike
from coldfield.files import day_model as day

Tick = Literal["pits_filled", "transmit_again", "full_check"]
K = TypeVar("K", bound=day.ItemLine)
T = TypeVar("T")

SET_BACK_MS = 2000
"""A clock that fell behind the page's own by more than this was set back, ms. Setting."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Shift:
    """The correction of a phone's times, ms; None if nothing was pressed together with the first phone."""

    phone: str
    shift_ms: int | None
    by: Literal["this clock", "alarm", "mark"] | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Moment(Generic[K]):
    """An item with its moment on the common clock, ms since 1970, and its corrected values."""

    item: K
    burial: str | None
    searcher: str | None
    at_ms: int
    since_alarm_s: float | None
    amended: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class DayRun:
    """The state of a run, as its items define it.

    `left` holds the splits that do not count: set aside or undone. `digs`, `burials`, `sets`, `hidden` and
    `dug_out` are keyed by burial, `searchers` by their id, `ticks` by what is ticked.
    """

    alarm: Moment[day.AlarmItem] | None = None
    shifts: tuple[Shift, ...] = ()
    splits: tuple[Moment[day.SplitItem], ...] = ()
    left: tuple[Moment[day.SplitItem], ...] = ()
    seen: tuple[Moment[day.SeenItem], ...] = ()
    notes: tuple[Moment[day.NoteItem], ...] = ()
    digs: Mapping[str, list[str]] = field(default_factory=dict)
    burials: Mapping[str, day.BurialItem] = field(default_factory=dict)
    searchers: Mapping[str, str] = field(default_factory=dict)
    hidden: Mapping[str, Moment[day.HiddenItem]] = field(default_factory=dict)
    dug_out: Mapping[str, Moment[day.HiddenItem]] = field(default_factory=dict)
    sets: Mapping[str, day.SetItem] = field(default_factory=dict)
    ticks: Mapping[Tick, bool] = field(default_factory=dict)
    close: day.CloseItem | None = None
    stop: day.StopItem | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class DayCheck:
    """The state of a group check; `checked` has the latest item of each stage and person, in order."""

    begun: Moment[day.CheckItem] | None = None
    checked: tuple[Moment[day.CheckedItem], ...] = ()
    end: Moment[day.CheckEndItem] | None = None
    first_ms: int | None = None


def read_run(given: Iterable[day.ItemLine]) -> DayRun:
    """Return the state of a run; items may come in any order and more than once."""
    read = _Read(given)
    alarms = read.moments(day.AlarmItem)
    alarm = min(alarms, key=_by_time, default=None)
    read.alarm_ms = None if alarm is None else alarm.at_ms
    splits = [one for one in read.items if isinstance(one, day.SplitItem)]
    hidden = read.moments(day.HiddenItem)
    return DayRun(
        alarm=None if alarm is None else read.moment(alarm.item),
        shifts=read.shifts,
        splits=tuple(sorted((read.moment(one) for one in splits if read.counts(one)), key=_by_time)),
        left=tuple(sorted((read.moment(one) for one in splits if not read.counts(one)), key=_by_time)),
        seen=tuple(sorted(read.moments(day.SeenItem), key=_by_time)),
        notes=tuple(sorted(read.moments(day.NoteItem), key=_by_time)),
        digs={one.burial: one.searchers for one in read.of(day.DigsItem)},
        burials={one.burial: one for one in read.of(day.BurialItem)},
        searchers={one.searcher: one.name for one in read.of(day.SearcherItem)},
        hidden={one.item.burial: one for one in hidden if one.item.when == "hidden"},
        dug_out={one.item.burial: one for one in hidden if one.item.when == "dug out"},
        sets={one.burial: one for one in read.of(day.SetItem)},
        ticks={one.what: one.done for one in read.of(day.TickItem)},
        close=_last(read.of(day.CloseItem)),
        stop=_last(read.of(day.StopItem)),
    )


def read_check(given: Iterable[day.ItemLine]) -> DayCheck:
    """Return the state of a group check; items may come in any order and more than once."""
    read = _Read(given)
    latest = {(one.item.stage, one.item.person): one for one in read.moments(day.CheckedItem)}
    return DayCheck(
        begun=_last(read.moments(day.CheckItem)),
        checked=tuple(latest.values()),
        end=_last(read.moments(day.CheckEndItem)),
        first_ms=min((read.at(one) for one in read.items), default=None),
    )


def left_out(items: Iterable[day.ItemLine]) -> set[tuple[str, str]]:
    """Return the pairs of `of` and phone that were left out on the laptop."""
    latest: dict[tuple[str, str], day.LeftOutItem] = {}
    for one in items:
        if isinstance(one, day.LeftOutItem):
            before = latest.setdefault((one.of, one.whose), one)
            if one.n > before.n:
                latest[one.of, one.whose] = one
    return {key for key, one in latest.items() if one.out}


class _Read:
    """The items without repeats, in the order in which they take effect."""

    def __init__(self, given: Iterable[day.ItemLine]) -> None:
        once: dict[str, day.ItemLine] = {}
        items = list(given)
        out = left_out(items)
        for item in called_alike(one for one in items if (one.of, one.phone) not in out):
            once.setdefault(item.id, item)
        self.alarm_ms: int | None = None
        self.own = _own_moments(once.values())
        self.shift: dict[str, int] = {}
        # What counts decides which alarm aligns the clocks; the alignment decides the order of two phones'
        # verdicts.
        self.items = self._ordered(once.values())
        self.verdicts = self._verdicts()
        self.shifts = _shifts([one for one in self.items if self.counts(one)], self.items, self.own)
        self.shift = {one.phone: one.shift_ms or 0 for one in self.shifts}
        self.items = self._ordered(once.values())
        self.verdicts = self._verdicts()
        self._amends: dict[str, list[day.AmendItem]] = {}
        for amend in self.of(day.AmendItem):
            self._amends.setdefault(amend.item, []).append(amend)

    def _ordered(self, items: Iterable[day.ItemLine]) -> list[day.ItemLine]:
        """Order by moment, never before an earlier item of the same phone; then by phone and number."""
        key: dict[str, int] = {}
        before: tuple[str, str] | None = None
        latest = 0
        for item in sorted(items, key=lambda one: (one.phone, one.of, one.n, one.id)):
            at = self.own[item.id] + self.shift.get(item.phone, 0)
            latest = max(latest, at) if before == (item.phone, item.of) else at
            key[item.id] = latest
            before = (item.phone, item.of)
        return sorted(items, key=lambda one: (key[one.id], one.phone, one.of, one.n, one.id))

    def _verdicts(self) -> dict[str, bool]:
        return {
            item.item: isinstance(item, day.RestoreItem)
            for item in self.items
            if isinstance(item, (day.UndoItem, day.RestoreItem))
        }

    def counts(self, item: day.ItemLine) -> bool:
        return self.verdicts.get(item.id, not (isinstance(item, day.SplitItem) and item.aside))

    def at(self, item: day.ItemLine, own_ms: int | None = None) -> int:
        """Return the moment of an item on the common clock, ms."""
        return (self.own[item.id] if own_ms is None else own_ms) + self.shift.get(item.phone, 0)

    def of(self, form: type[K]) -> list[K]:
        """Return the items of one kind that count, in order."""
        return [one for one in self.items if isinstance(one, form) and self.counts(one)]

    def moments(self, form: type[K]) -> list[Moment[K]]:
        return [self.moment(one) for one in self.of(form)]

    def moment(self, item: K) -> Moment[K]:
        own = self._amends.get(item.id, [])
        at_ms = self.at(item, _last([one.at_ms for one in own if one.at_ms is not None]))
        burials = [getattr(item, "burial", None), *(one.burial for one in own)]
        searchers = [getattr(item, "searcher", None), *(one.searcher for one in own)]
        return Moment(
            item=item,
            burial=_last([one for one in burials if one is not None]) or None,
            searcher=_last([one for one in searchers if one is not None]) or None,
            at_ms=at_ms,
            since_alarm_s=None if self.alarm_ms is None else (at_ms - self.alarm_ms) / 1000,
            amended=bool(own),
        )


def _own_moments(items: Iterable[day.ItemLine]) -> dict[str, int]:
    """Return each item's moment on its own phone's clock, ms, corrected if the clock was set back."""
    moments: dict[str, int] = {}
    before: day.ItemLine | None = None
    added = 0.0
    for item in sorted(items, key=lambda one: (one.phone, one.of, one.n, one.id)):
        if before is None or (before.phone, before.of) != (item.phone, item.of):
            added = 0.0
        elif before.page == item.page:
            gained = item.wall_ms - before.wall_ms - (item.since_page_ms - before.since_page_ms)
            added -= gained if gained < -SET_BACK_MS else 0.0
        moments[item.id] = floor(item.wall_ms + added + 0.5)
        before = item
    return moments


def _shifts(
    counting: Sequence[day.ItemLine], items: Sequence[day.ItemLine], own: Mapping[str, int]
) -> tuple[Shift, ...]:
    """Return the shift of each phone's clock against that of the first phone whose alarm counts."""
    phones = sorted({one.phone for one in items})
    marks: dict[str, dict[int, int]] = {phone: {} for phone in phones}
    for item in sorted(counting, key=lambda one: one.n):
        if isinstance(item, (day.AlarmItem, day.MarkItem)):
            # The alarm comes before every other mark.
            name = item.mark if isinstance(item, day.MarkItem) else 0
            marks[item.phone].setdefault(name, own[item.id])
    first = next((phone for phone in phones if 0 in marks[phone]), phones[0] if phones else "")
    return tuple(_shift(phone, first, marks) for phone in phones)


def _shift(phone: str, first: str, marks: Mapping[str, Mapping[int, int]]) -> Shift:
    if phone == first:
        return Shift(phone=phone, shift_ms=0, by="this clock")
    shared = min(marks[phone].keys() & marks[first].keys(), default=None)
    if shared is None:
        return Shift(phone=phone, shift_ms=None, by=None)
    shift_ms = marks[first][shared] - marks[phone][shared]
    return Shift(phone=phone, shift_ms=shift_ms, by="mark" if shared else "alarm")


def _by_time(one: Moment[Any]) -> tuple[int, str]:
    return one.at_ms, one.item.phone


def _last(found: Sequence[T]) -> T | None:
    return found[-1] if found else None
