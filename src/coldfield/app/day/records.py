"""The records made from the items of a run or check: splits, observations, hidden sets, a check."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import UTC, datetime
from typing import Any

from coldfield.app.day.place import place_m
from coldfield.app.day.reading import DayCheck, DayRun, Moment
from coldfield.files.day_model import HiddenItem, ItemLine
from coldfield.records.moments import stamp

Found = dict[tuple[str, str], dict[str, Any]]
"""Fields of records, by kind and id."""

NOTED = "noted"
"""The subject of an observation that has neither a code nor a text."""


def records_of(run: DayRun, run_id: str) -> Found:
    """Return the splits, observations and hidden sets of a run, each under the id of its item."""
    found: Found = {}
    timed: list[Moment[Any]] = [*run.splits, *([run.alarm] if run.alarm is not None else [])]
    for one in timed:
        split = getattr(one.item, "split", "alarm")
        found["splits", one.item.id] = {**_common(one, run_id), "split": split, "note": ""}
    for seen in run.seen:
        about = seen.item.about or seen.item.words.strip() or NOTED
        note = seen.item.words if seen.item.about else ""
        found["observations", seen.item.id] = {
            **_common(seen, run_id),
            "about": about,
            "seen": seen.item.seen,
            "note": note,
        }
    for hidden in (*run.hidden.values(), *run.dug_out.values()):
        found["hidings", hidden.item.id] = _hiding(hidden, run_id)
    return found


def _common(one: Moment[Any], run_id: str) -> dict[str, Any]:
    return {
        "run_id": run_id,
        "searcher": one.searcher,
        "burial": one.burial,
        "time_unix_s": one.at_ms / 1000,
        "since_alarm_s": None,
    }


_HIDING = ("when", "burial", "set", "transmits", "place", "depth_m", "azimuth_deg", "tilt_deg", "by", "out")


def _hiding(one: Moment[HiddenItem], run_id: str) -> dict[str, Any]:
    told = one.item.model_dump()
    return {"run_id": run_id, **{key: told[key] for key in _HIDING}, "time_unix_s": one.at_ms / 1000}


def check_of(check: DayCheck, run_id: str | None) -> dict[str, Any]:
    """Return a group check as a record."""
    begun_ms = check.begun.at_ms if check.begun is not None else (check.first_ms or 0)
    return {
        "run_id": run_id,
        "extent": check.begun.item.extent if check.begun is not None else None,
        "leader": check.begun.item.leader if check.begun is not None else "",
        "begun_utc": moment(begun_ms),
        "ended_utc": moment(check.end.at_ms) if check.end is not None else None,
        "checked": [
            one.item.model_dump(exclude={*ItemLine.model_fields, "kind"}) | {"time_unix_s": one.at_ms / 1000}
            for one in check.checked
        ],
        "not_checked": check.end.item.not_checked if check.end is not None else [],
    }


def moment(at_ms: int) -> str:
    """Return a moment as it is stored."""
    return stamp(datetime.fromtimestamp(at_ms / 1000, UTC))


def as_buried(
    run: DayRun, drill: Mapping[str, Any], runs_anchors: Sequence[Mapping[str, Any]] = ()
) -> list[dict[str, Any]] | None:
    """Return the burials as they were hidden and dug out; None if nothing was recorded about them.

    Whatever was not recorded stays as planned. A dropped burial is left out. A burial that is not in the
    drill is left out if its place is not known in metres.

    Parameters
    ----------
    run : DayRun
        The state of the run.
    drill : mapping
        The drill file in the version of the run.
    runs_anchors : sequence of mapping
        Anchors that the phone had besides those of the drill, with `name` and `position_m`.
    """
    if not run.hidden and not run.dug_out and not run.burials:
        return None
    anchors = {one["name"]: one["position_m"] for one in (*runs_anchors, *drill["site"].get("anchors", []))}
    dropped = {burial for burial, one in run.burials.items() if one.state == "dropped"}
    planned = {one["id"]: one for one in drill["burials"]}
    found = []
    for burial in dict.fromkeys([*planned, *run.hidden, *run.dug_out]):
        told = [side[burial].item for side in (run.hidden, run.dug_out) if burial in side]
        one = _buried(burial, planned.get(burial), told, anchors)
        if burial not in dropped and one is not None:
            found.append(one)
    return None if found == drill["burials"] else found


def _buried(
    burial: str,
    planned: Mapping[str, Any] | None,
    told: Sequence[HiddenItem],
    anchors: Mapping[str, Sequence[float]],
) -> dict[str, Any] | None:
    one: dict[str, Any] = dict(planned) if planned is not None else {"id": burial, "transmitter": {}}
    if not told and planned is not None:
        return one
    for item in told:
        at = place_m(item.place, anchors)
        if at is not None:
            one["position_m"] = list(at)
        if item.depth_m:
            one["depth_m"] = item.depth_m
        if item.set is not None:
            one["set"] = item.set
        lies = {"azimuth_deg": item.azimuth_deg, "tilt_deg": item.tilt_deg}
        lies = {key: value for key, value in lies.items() if value is not None}
        if lies and one.get("transmitter") is not None:
            one["antenna"] = {"azimuth_deg": 0.0, "tilt_deg": 0.0} | (one.get("antenna") or {}) | lies
    if one.get("transmitter") is not None:
        one.setdefault("antenna", {"azimuth_deg": 0.0, "tilt_deg": 0.0})
    return one if "position_m" in one and "depth_m" in one else None
