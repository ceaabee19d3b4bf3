"""Constants of a rehearsal that belong to no single person: each with its source or 'setting'."""

from __future__ import annotations

from dataclasses import dataclass
from math import radians

from coldfield.rescue.digging import DIGGING, Digging


@dataclass(frozen=True, slots=True, kw_only=True)
class Settings:
    """The constants of the searcher model other than the skills. SI and radians.

    *Practice* means common practice without a source; *setting* means our own choice.

    Attributes
    ----------
    horizon_s : float
        The search ends here; a burial not struck by then is not found. Digging goes on. Setting.
    back_after_pulses, lost_after_pulses : int
        Pulses missed in a row after which a searcher turns back to where the signal was better, and
        after which the signal counts as lost. Settings.
    turn_about_share, turn_about_m : float
        The searcher turns round if the reading rises above the lowest one by this share and by this
        much. Settings.
    turn_about_above_m : float
        Above this lowest reading a rise means the wrong way; below it, the place was passed. Setting.
    most_turn_abouts, most_losses : int
        Turns after which an approach ends, and losses after which this searcher gives the set up.
        Settings.
    lost_pause_pulses : int
        Number of pulses after a loss during which the searcher walks on along the lane and does not
        follow that set. Setting.
    near_reading_m, fine_reading_m : float
        People are slower below 10 m; the fine search starts at 3 m (practice; ICAR 2009 names the phases).
    past_lowest_m, swing_rad, swing_within_m : float
        The fine search also starts 1 m past the lowest reading, or when the direction swings by more
        than 60 degrees within 1 m. Practice; the numbers are settings.
    coarse_limit_s : float
        An approach that takes longer is ended. Setting.
    fine_rise_m, fine_leg_m : float
        An arm of the cross ends when the reading is this much above the lowest one, or at this length.
        Settings.
    fine_attempts : int
        Rounds of fine search and spiral before the probe counts as too short; if there is no longer
        one, people dig at the lowest reading. Setting.
    look_s, look_pace : float
        A set with one antenna is turned to find the direction: extra time at each stop, and share of
        the pace in the coarse search. Settings.
    gear_off_s : float
        Taking off skis or snowshoes before the first fine search. Setting.
    spiral_step_m, spiral_radius_m : float
        25 cm between holes; beyond a radius of 1.5 m the spiral has missed the person (Genswein,
        bergundsteigen; second-hand).
    person_length_m, person_width_m, sack_radius_m : float
        The outline that a probe can hit, seen from above; the set lies in the middle. Settings.
    person_thickness_m, body_tilt_rad : float
        A probe strikes any part of a body. Its thickness, and the standard deviation of its tilt end to
        end. A sack is as thick as its radius. Settings.
    circles_m : tuple of float
        Radii of the circles round a found set that could not be marked: 3, 6, 9 m (second-hand).
    fallback_s : float
        Time without movement after which a set left on search goes back to transmit: about 2 min
        (practice).
    stray_field_at_10m_a_per_m : float
        Strength of such a set. Setting.
    period_spread : float
        A set's period in a run is uniform within this share of its nominal one. Setting.
    searchers_per_missing_set : int
        Number of people who go on searching for each set not yet heard while others dig. Setting.
    finder_digs : bool
        True: whoever strikes digs. False: finders go on while others dig (practice).
    line_rate_m2_s : float
        Ground per person and second in a probe line: 20 people, 1 ha, 4 h (from memory).
    line_pod : float
        Chance of a strike in a coarse line, 75 x 70 cm, one hole per step: 0.76 (ISSW 1996, seen);
        older: 0.70.
    line_first_depth_m : float
        The first pass is 1.5 m deep (ICAR AVA-REC0011, 2015), later ones reach the probe's length.
    digging : Digging
        Constants of digging.
    definite : bool
        True: a pulse is heard exactly when its amplitude reaches the threshold. False: by chance.
    """

    horizon_s: float = 3600.0
    back_after_pulses: int = 4
    lost_after_pulses: int = 8
    turn_about_share: float = 0.1
    turn_about_m: float = 1.0
    turn_about_above_m: float = 6.0
    most_turn_abouts: int = 4
    most_losses: int = 8
    lost_pause_pulses: int = 15
    near_reading_m: float = 10.0
    fine_reading_m: float = 3.0
    past_lowest_m: float = 1.0
    swing_rad: float = radians(60.0)
    swing_within_m: float = 1.0
    coarse_limit_s: float = 300.0
    fine_rise_m: float = 0.15
    fine_leg_m: float = 3.0
    fine_attempts: int = 2
    look_s: float = 4.0
    look_pace: float = 0.6
    gear_off_s: float = 12.0
    spiral_step_m: float = 0.25
    spiral_radius_m: float = 1.5
    person_length_m: float = 1.7
    person_width_m: float = 0.45
    sack_radius_m: float = 0.35
    person_thickness_m: float = 0.25
    body_tilt_rad: float = radians(12.0)
    circles_m: tuple[float, float, float] = (3.0, 6.0, 9.0)
    fallback_s: float = 120.0
    stray_field_at_10m_a_per_m: float = 1.0e-6
    period_spread: float = 0.02
    searchers_per_missing_set: int = 2
    finder_digs: bool = False
    line_rate_m2_s: float = 1.0e4 / (4 * 3600.0 * 20)
    line_pod: float = 0.76
    line_first_depth_m: float = 1.5
    digging: Digging = DIGGING
    definite: bool = False


SETTINGS = Settings()
"""The default values."""

UNSURE_SETTINGS: dict[str, float] = {
    "turn_about_above_m": 1.3,
    "near_reading_m": 1.2,
    "fine_reading_m": 1.3,
    "past_lowest_m": 1.5,
    "fine_rise_m": 1.5,
    "fine_leg_m": 1.3,
    "person_length_m": 1.15,
    "person_width_m": 1.25,
    "person_thickness_m": 1.3,
    "body_tilt_rad": 1.5,
    "look_s": 1.5,
    "look_pace": 1.3,
    "gear_off_s": 1.5,
    "line_rate_m2_s": 2.0,
}
"""Uncertain settings, each known to within this factor. The factors are settings too."""
