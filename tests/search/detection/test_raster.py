from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import shapely

import coldfield.app
from coldfield.app.drills.files import load_drill
from coldfield.beacon.field import harmonic_dipole_field, moment_am2
from coldfield.beacon.receiver import pulse_probability
from coldfield.drill.terrain import Plane
from coldfield.search.detection.raster import detection
from coldfield.search.lanes.plan import Lane, plan_lanes
from coldfield.search.width.lateral_range import Pair, burial_samples, heard_share
from coldfield.search.width.theory import detection_at_coverage

DEMO = load_drill(Path(coldfield.app.__file__).parent / "demo/drill.json")


def test_independent_route_koopman_forms_from_lines_laid_on_the_ground() -> None:
    # Coverage 0.6: places at random in a wide field crossed by even parallel lines are within a definite
    # range with chance 0.6; by the inverse cube law with erf; lines at random with 1 - exp(-C).
    # 4 standard errors of 40,000 places (for random lines also of the 400 layouts).
    rng, width, spacing, n = np.random.default_rng(12), 12.0, 20.0, 40_000
    across = np.abs(rng.uniform(-spacing / 2, spacing / 2, n))
    error = 4.0 * np.sqrt(0.25 / n)
    assert (across <= width / 2).mean() == pytest.approx(
        float(detection_at_coverage(0.6, "definite")), abs=error
    )

    # Inverse cube: every line adds potential k / x^2, W = 2 sqrt(pi k).
    k = width**2 / (4.0 * np.pi)
    lines = spacing * np.arange(-400, 401)
    potential = (k / (rng.uniform(-10, 10, (2000, 1)) - lines) ** 2).sum(axis=1)
    mean = -np.expm1(-potential).mean()
    assert mean == pytest.approx(
        float(detection_at_coverage(0.6, "inverse cube")),
        abs=4 * np.std(-np.expm1(-potential)) / np.sqrt(2000),
    )

    # Lines through a disc of radius R hit places in its core at random: total length C A / W.
    radius, core = 400.0, 100.0
    hits = []
    for _ in range(400):
        count = rng.poisson(0.6 * 2.0 * radius / width)
        angle, offset = rng.uniform(0, np.pi, count), rng.uniform(-radius, radius, count)
        places = core * (rng.random((50, 2)) - 0.5)
        distance = np.abs(places @ np.stack([np.cos(angle), np.sin(angle)]) - offset)
        hits.append((distance.min(axis=1, initial=np.inf) <= width / 2).mean())
    error = 4.0 * np.std(hits) / np.sqrt(len(hits))
    # Mean length of these lines within the disc, per area, is count * pi R / 2 / (pi R^2).
    assert np.mean(hits) == pytest.approx(float(detection_at_coverage(0.6, "random")), abs=error)


def test_independent_route_one_place_by_pulse_after_pulse() -> None:
    # The receiver's own pulse chances, one burial at a time, and the chain over all 3-pulse windows
    # done by drawing: 4 standard errors of 4,000 draws, averaged over the burials.
    from coldfield.search.detection import raster as module

    drill = replace(DEMO, searchers=DEMO.searchers[:1])
    who = drill.searchers[0]
    line = np.array([[10.0, 10.0], [70.0, 30.0]])
    lane = Lane(searcher=who.id, line_m=line, length_m=0.0, seconds=0.0)
    result = detection(drill, [lane], most=60)
    plane = Plane.of(drill.site)
    weakest = min((b.transmitter for b in drill.burials), key=lambda t: t.field_at_10m_a_per_m)
    pair = Pair(receiver=who.receiver, transmitter=weakest, noise_rise_db=drill.conditions.noise_rise_db)
    burials = burial_samples(pair, module.BURIALS)
    axes = module._whole_sphere(burials.axis)
    step = who.skill.signal_speed_m_s * weakest.period_s
    ahead = (line[1] - line[0]) / np.hypot(*(line[1] - line[0]))
    heading = np.arctan2(ahead[0], ahead[1])
    rng = np.random.default_rng(2)
    i = int(np.argmin(np.abs(result.probability - 0.7)))
    expected = []
    for j in range(module.BURIALS):
        start = np.floor(4 * burials.phase[j]) / 4 * step
        ratio = plane.length_m(line) / np.hypot(*(line[1] - line[0]))
        at = np.arange(start, plane.length_m(line) + 1e-9, step) / ratio
        receiver = plane.at(line[0] + at[:, None] * ahead, np.full(len(at), 1.0))
        source = plane.at(result.place_m[i], -burials.depth_m[j])
        field = harmonic_dipole_field(moment_am2(weakest.field_at_10m_a_per_m) * axes[j], receiver - source)
        p = pulse_probability(
            who.receiver,
            field,
            heading_rad=np.full(len(at), heading),
            noise_rise_db=drill.conditions.noise_rise_db,
        )
        p[np.linalg.norm(receiver - source, axis=1) > 1.6 * pair.coaxial_range_m()] = 0.0
        seen = rng.random((4000, len(p))) < p
        two = (seen[:, :-1] & seen[:, 1:]).any(axis=1) | (seen[:, :-2] & seen[:, 2:]).any(axis=1)
        expected.append(two.mean())
    # sum of 64 binomials of 4,000 draws: at most sqrt(64 / 4 / 4000) / 64
    assert result.probability[i] == pytest.approx(np.mean(expected), abs=4 * np.sqrt(1 / (4 * 4000 * 64)))


def test_independent_route_long_lane_agrees_with_the_lateral_range_curve() -> None:
    # The lateral range is in definite mode, and averaged over exact phases: chance mode hears a little
    # more, as it may also detect below the threshold. On the lane both hear all but a few.
    drill = replace(DEMO, searchers=DEMO.searchers[1:2], site=replace(DEMO.site, slope_rad=0.0))
    lane = Lane(searcher="bram", line_m=np.array([[-200.0, 50.0], [300.0, 50.0]]), length_m=0.0, seconds=0.0)
    result = detection(drill, [lane], most=600)
    weakest = min((b.transmitter for b in drill.burials), key=lambda t: t.field_at_10m_a_per_m)
    pair = Pair(
        receiver=drill.searchers[0].receiver, transmitter=weakest, noise_rise_db=2.0, lane_speed_m_s=1.2
    )
    distance = np.abs(result.place_m[:, 1] - 50.0)
    for low, high in ((0, 5), (15, 18), (22, 25)):
        mine = result.probability[(distance >= low) & (distance < high)].mean()
        definite = heard_share(pair, 0.5 * (low + high), burial_samples(pair, 4096))[0]
        assert definite - 0.03 <= mine <= definite + 0.25


def test_property_more_walking_is_heard_more_and_two_passes_depend_on_each_other() -> None:
    loud = replace(DEMO, conditions=replace(DEMO.conditions, noise_rise_db=14.0))
    plan = plan_lanes(DEMO.site, DEMO.searchers, strip_width_m=45.0)
    second = plan_lanes(DEMO.site, DEMO.searchers, strip_width_m=22.5)
    one, two = (detection(loud, p.lanes, most=250) for p in (plan, second))
    both = one.with_second(two)
    assert (both.probability >= np.maximum(one.probability, two.probability) - 1e-12).all()
    assert both.probability.mean() - one.probability.mean() > 0.02
    # The same lanes again help less than a fresh chance would: a set that lies badly still does.
    again, fresh = one.with_second(one), 1.0 - (1.0 - one.probability) ** 2
    assert one.probability.mean() < again.probability.mean() < fresh.mean() - 1e-3
    assert one.mean_probability < two.mean_probability
    ground = shapely.Polygon(DEMO.site.boundary_m, DEMO.site.holes_m)
    assert ground.covers(shapely.Point(one.least_m))
    assert one.least_probability == one.probability.min()
