import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from amount import examples
from coldfield.beacon.pulses import (
    Keying,
    masked,
    masked_at_random,
    masked_share_in_the_long_run,
    overlap_chance_in_a_cycle,
    overlap_episode_s,
    pulse_starts_s,
)
from coldfield.errors import OutOfModel
from published import derived


def test_independent_route_overlap_of_equal_sets() -> None:
    # Three printed digits, the last of which is 0.5 off for five sets (.82149).
    for sets, chance in derived("pulses")["overlap_in_a_cycle_70_ms_in_1_s"].items():
        assert overlap_chance_in_a_cycle(int(sets), pulse_s=0.07, period_s=1.0) == pytest.approx(
            chance, abs=6e-4
        )


@pytest.mark.parametrize("sets", [2, 3, 5])
def test_independent_route_overlap_in_a_cycle_by_throwing_phases(sets: int) -> None:
    rng, count = np.random.default_rng(sets), 20_000
    start = np.sort(rng.random((count, sets)), axis=1)
    gaps = np.diff(np.concatenate([start, start[:, :1] + 1.0], axis=1), axis=1)
    share = np.mean((gaps < 0.09).any(axis=1))
    expected = overlap_chance_in_a_cycle(sets, pulse_s=0.09, period_s=1.0)
    assert share == pytest.approx(expected, abs=4 * np.sqrt(expected * (1 - expected) / count))


def test_independent_route_masking_by_sampling_the_time_line() -> None:
    # Check every millisecond which sets are on; pulses end half-way between two checks, so that none just
    # touch.
    keyings = (Keying(period_s=1.0, pulse_s=0.0895), Keying(period_s=0.93, pulse_s=0.0795, phase_s=0.4),
               Keying(period_s=1.21, pulse_s=0.0995, phase_s=1.0))  # fmt: skip
    milli = np.arange(0, 200_000)
    on = [
        np.mod(milli - round(1000 * k.phase_s), round(1000 * k.period_s)) < 1000 * k.pulse_s for k in keyings
    ]
    for i, (k, got) in enumerate(zip(keyings, masked(keyings, 200.0), strict=True)):
        others = on[(i + 1) % 3] | on[(i + 2) % 3]
        hidden = [
            others[round(1000 * s) : round(1000 * (s + k.pulse_s) + 0.5)].any()
            for s in pulse_starts_s(k, 199.0)
        ]
        assert got.share == pytest.approx(np.mean(hidden), abs=0.012)  # two pulses of about 200


def test_independent_route_long_run_share_by_random_phases() -> None:
    rng = np.random.default_rng(4)
    one, others = Keying(period_s=1.0, pulse_s=0.09), (0.93, 1.17)
    shares = []
    for _ in range(400):
        sets = (one, *(Keying(period_s=p, pulse_s=0.08, phase_s=rng.random() * p) for p in others))
        shares.append(masked(sets, 1.5)[0].share)  # the first two pulses
    expected = masked_share_in_the_long_run(one, tuple(Keying(period_s=p, pulse_s=0.08) for p in others))
    assert np.mean(shares) == pytest.approx(expected, abs=4 * np.std(shares) / 20)


def test_independent_route_episode_of_two_sets_of_nearly_one_period() -> None:
    one, two = Keying(period_s=1.0, pulse_s=0.07), Keying(period_s=1.01, pulse_s=0.07, phase_s=0.3)
    episode, again = overlap_episode_s(one, two)
    got = masked((one, two), 10 * again)[0]
    assert got.longest_s == pytest.approx(episode, abs=1.01)  # one period at each end, half of it on average
    assert got.share == pytest.approx(episode / again, rel=0.08)


@given(phase=st.floats(0, 1), period=st.floats(0.5, 2.0), shift=st.floats(-3, 3))
@examples(40)
def test_property_starts_are_one_period_apart_from_zero_on(phase, period, shift) -> None:
    starts = pulse_starts_s(Keying(period_s=period, pulse_s=0.1, phase_s=phase + shift), 20.0)
    np.testing.assert_allclose(np.diff(starts), period)
    assert -1e-9 <= starts[0] < period + 1e-9
    assert starts[-1] < 20.0 + 1e-9 <= starts[-1] + period + 2e-9


def test_contract_a_lone_set_is_never_hidden() -> None:
    assert masked((Keying(period_s=1.0, pulse_s=0.09),), 30.0)[0].share == 0.0


@pytest.mark.parametrize(
    ("keying", "duration"),
    [(Keying(period_s=0.0, pulse_s=0.1), 5.0), (Keying(period_s=1.0, pulse_s=1.0), 5.0),
     (Keying(period_s=1.0, pulse_s=0.1), 0.0), (Keying(period_s=1.0, pulse_s=0.1), 1e9)],
)  # fmt: skip
def test_contract_keying_that_cannot_be_is_refused(keying: Keying, duration: float) -> None:
    with pytest.raises(OutOfModel):
        masked((keying,), duration)


def test_contract_episodes_need_two_periods() -> None:
    with pytest.raises(OutOfModel):
        overlap_episode_s(Keying(period_s=1.0, pulse_s=0.1), Keying(period_s=1.0, pulse_s=0.1))


def test_independent_route_random_phases_reach_the_long_run_share() -> None:
    keyings = (
        Keying(period_s=1.0, pulse_s=0.09),
        Keying(period_s=0.93, pulse_s=0.08),
        Keying(period_s=1.17, pulse_s=0.1),
    )
    got = masked_at_random(keyings, 30.0, np.random.default_rng(5), draws=300)
    for k, one in enumerate(got):
        others = tuple(key for j, key in enumerate(keyings) if j != k)
        # 300 runs of about 30 pulses; neighbouring pulses are correlated, so count only the runs.
        share = masked_share_in_the_long_run(keyings[k], others)
        assert one.mean_share == pytest.approx(share, abs=4 * np.sqrt(share * (1 - share) / 300))
        assert one.longest_p90_s > keyings[k].period_s


def test_property_equal_periods_overlap_always_or_never_whatever_the_phase() -> None:
    one = Keying(period_s=1.0, pulse_s=0.1)
    got = masked_at_random((one, one), 20.0, np.random.default_rng(9), draws=400)[0]
    assert got.mean_share == pytest.approx(0.2, abs=4 * np.sqrt(0.16 / 400))
    assert got.longest_p90_s == pytest.approx(20.0, abs=1.0)  # one run in five is hidden throughout


def test_contract_phases_must_be_drawn_at_least_once() -> None:
    with pytest.raises(OutOfModel):
        masked_at_random((Keying(period_s=1.0, pulse_s=0.1),), 5.0, np.random.default_rng(0), draws=0)
