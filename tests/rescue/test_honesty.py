"""Do the 80 % bands contain the results of groups from other tables than ours?"""

from __future__ import annotations

from made_groups import GROUPS, coverage


def test_independent_route_the_wide_band_holds_eight_of_ten_runs_of_other_groups() -> None:
    # 60 made groups of 10 runs, people from other tables, a common effect of the day; no run is known. The
    # wide band also includes the uncertainty of digging, which these groups share with us, so the share is
    # slightly higher.
    assert GROUPS >= 60
    told = coverage(unsure=True, other_digging=False)
    assert told.low > 0.78
    assert told.high < 0.93


def test_independent_route_the_wide_band_holds_where_digging_is_other_than_ours_too() -> None:
    told = coverage(unsure=True, other_digging=True)
    assert told.low <= 0.8 <= told.high


def test_property_the_narrow_band_holds_fewer() -> None:
    narrow, wide = (coverage(unsure=u, other_digging=True, groups=24) for u in (False, True))
    assert narrow.share < wide.share
