"""Constants of a rehearsal that belong to no single person: each with its source or 'setting'."""

from __future__ import annotations

from dataclasses import dataclass
from math import radians

from coldfield.rescue.digging import DIGGING, Digging


@dataclass(frozen=True, slots=True, kw_only=True)
class Settings:
    """What the searcher model goes by, beside the skills. SI and radians.

    Standing of each value: *practice* is common practice without a source; *setting* is our choice.

    Attributes
    ----------
    horizon_s : float
        Search ends here; what is not struck by then is not found. Digging goes on. Setting.
    back_after_pulses, lost_after_pulses : int
        Pulses missed in a row after which a searcher turns back to where the signal was better, and
        after which it counts as lost. Settings.
    turn_about_share, turn_about_m : float
        A reading that rises by this share of the lowest one, and by this much, turns the searcher
        about. Settings.
    turn_about_above_m : float
        Above this lowest reading a rise means the wrong way; below it, the place is passed. Setting.
    most_turn_abouts, most_losses : int
        After so many a chase is ended; a set is given up by this searcher. Settings.
    lost_pause_pulses : int
        After a loss so many pulses of that set are not followed: first on along the lane. Setting.
    near_reading_m, fine_reading_m : float
        Slower below 10 m; fine search from 3 m (practice; ICAR 2009 names the phases).
    past_lowest_m, swing_rad, swing_within_m : float
        The two other beginnings of fine search: walked 1 m past the lowest reading; direction swung
        by more than 60 degrees within 1 m. Practice; the numbers are settings.
    coarse_limit_s : float
        A chase that takes longer is ended. Setting.
    fine_rise_m, fine_leg_m : float
        A leg of the cross ends when the reading is so much above the lowest, or at this length.
        Settings.
    fine_attempts : int
        Rounds of fine search and spiral before the probe is called too short; with no longer one there,
        people dig at the lowest reading. Setting.
    look_s, look_pace : float
        With one antenna the set is turned to find the direction: so much longer at each stop, and
        coarse search at this share of the pace. Settings.
    gear_off_s : float
        Taking off skis or snowshoes before the first fine search. Setting.
    spiral_step_m, spiral_radius_m : float
        25 cm between holes; a spiral of 1.5 m has missed the person inside it (Genswein,
        bergundsteigen; second-hand).
    person_length_m, person_width_m, sack_radius_m : float
        What a probe can hit, seen from above; the set lies in the middle. Settings.
    person_thickness_m, body_tilt_rad : float
        A probe strikes anything of a body so thick, that lies tilted end to end with this deviation. A
        sack is as thick as its radius. Settings.
    circles_m : tuple of float
        Radii walked round a found set that could not be marked: 3, 6, 9 m (second-hand).
    fallback_s : float
        A set left searching goes back to transmit after so long without movement: about 2 min
        (practice).
    stray_field_at_10m_a_per_m : float
        Strength of such a set. Setting.
    period_spread : float
        A set's period in a run lies evenly within this share of its nominal one. Setting.
    searchers_per_missing_set : int
        So many go on searching for each set not yet heard while others dig. Setting.
    finder_digs : bool
        True: who strikes digs. False: finders go on while others dig (practice).
    line_rate_m2_s : float
        Ground per person and second in a probe line: 20 people, 1 ha, 4 h (from memory).
    line_pod : float
        Coarse line, 75 x 70 cm, one hole a step: 0.76 (ISSW 1996, seen); older: 0.70.
    line_first_depth_m : float
        First pass 1.5 m deep (ICAR AVA-REC0011, 2015), later ones the probe's length.
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
"""The values used where nothing else is said."""

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
"""Settings whose values are unsure, each to within this factor. The factors are settings too."""
