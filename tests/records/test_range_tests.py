"""Range tests on record: drift by another method, the weakest set, what is due."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from coldfield.app.kit.range_tests import RangeOfTest, drift, kit_ranges
from coldfield.app.kit.range_track import track_ranges
from coldfield.records.checking import read_form
from coldfield.records.database import Database
from coldfield.records.store import Store
from recorded_tracks import gpx


def keep(database: Database, name: str, record_id: str, **told: Any) -> None:
    with database.write() as connection:
        Store(connection, database.stamp()).put(
            name, record_id, read_form(name, told).fields(), based_on=None
        )


def a_season(database: Database) -> None:
    for k, label in enumerate(("HL-01", "HL-02", "HL-03")):
        keep(database, "kit", f"k{k}", kind="set", label=label, next_check="2026-11-01" if k else None)
    for year in (2023, 2024, 2025):
        lost = 3.0 * (year - 2023)
        for k, reach in enumerate((45.0, 38.0, 50.0)):
            runs = [reach - (lost if k == 1 else 0.0) + d for d in (-0.3, 0.0, 0.3)]
            keep(
                database, "range_tests", f"t{k}-{year}", kit_id=f"k{k}", held=f"{year}-11-20", coaxial_m=runs,
                upright_m=[0.5 * run for run in runs],
            )  # fmt: skip


def test_contract_the_weakest_set_its_drift_and_what_it_does_to_the_width(database: Database) -> None:
    a_season(database)
    found = kit_ranges(database, "2026-11-20")
    by_label = {one.label: one for one in found.sets}
    assert [test.held for test in by_label["HL-02"].tests] == ["2023-11-20", "2024-11-20", "2025-11-20"]
    assert by_label["HL-02"].drift_m_per_year == pytest.approx(-3.0, abs=0.2)
    assert by_label["HL-02"].drifts
    assert not by_label["HL-01"].drifts
    assert found.group is not None
    assert found.group.weakest == "HL-02"
    assert found.group.range_m == pytest.approx(32.0, abs=0.5)
    assert found.group.width_m < (found.group.without_m or 0.0)
    assert (found.group.weak_transmitter_m or 0.0) < found.group.width_m
    assert found.group.weak_field_ua_per_m == pytest.approx(0.5)
    assert [one.label for one in found.due] == ["HL-02", "HL-03"]
    assert not found.faults


def test_contract_a_retired_set_neither_waits_nor_decides(database: Database) -> None:
    a_season(database)
    with database.write() as connection:
        store = Store(connection, database.stamp())
        piece = store.get("kit", "k1")
        told = {"kind": "set", "label": "HL-02", "state": "retired", "next_check": "2026-11-01"}
        store.put("kit", "k1", read_form("kit", told).fields(), based_on=piece["version"])
    found = kit_ranges(database, "2026-11-20")
    assert found.group is not None
    assert found.group.weakest == "HL-01"
    assert [one.label for one in found.due] == ["HL-03"]


def test_independent_route_drift_is_a_weighed_straight_line() -> None:
    rng = np.random.default_rng(3)
    days = ["2021-12-01", "2022-11-15", "2023-12-20", "2024-11-30", "2025-12-05"]
    errors = rng.uniform(0.3, 1.5, len(days))
    reach = 45 - 1.4 * np.arange(len(days)) + rng.normal(0, 0.4, len(days))
    tests = [
        RangeOfTest(id=str(k), held=day, range_m=float(reach[k]), error_m=float(errors[k]))
        for k, day in enumerate(days)
    ]
    slope, error = drift(tests)
    years = np.array(
        [(np.datetime64(day) - np.datetime64("2021-01-01")).astype(float) / 365.25 for day in days]
    )
    (expected, _), covariance = np.polyfit(years, reach, 1, w=1 / errors, cov="unscaled")
    chi2 = (
        float((((reach - np.polyval(np.polyfit(years, reach, 1, w=1 / errors), years)) / errors) ** 2).sum())
        / 3
    )
    assert slope == pytest.approx(expected, rel=1e-6)
    assert error == pytest.approx(float(np.sqrt(covariance[0, 0] * max(chi2, 1.0))), rel=1e-6)


def test_independent_route_a_track_gives_the_way_from_set_to_last_signal() -> None:
    # 0.0004 degrees of latitude at 61 degrees north: 111,412 m a degree (WGS84 series, from memory).
    file = gpx([("Ines", [(61.2 + 1e-5 * k, 8.1, None) for k in range(41)])])
    (found,) = track_ranges(file, "a.gpx")
    assert found.range_m == pytest.approx(0.0004 * 111_424, abs=0.05)
