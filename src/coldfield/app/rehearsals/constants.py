"""What the constants of the model are called where people read which of them make a band wide."""

from __future__ import annotations

CONSTANT_WORDS: dict[str, str] = {
    "reaction_s": "time until people start",
    "signal_speed_m_s": "walking speed in signal search",
    "coarse_speed_m_s": "walking speed in coarse search",
    "near_speed_m_s": "walking speed below a reading of 10 m",
    "fine_speed_m_s": "speed of the set in fine search",
    "direction_noise_rad": "deviation from the direction shown",
    "wrong_way_fraction": "how often people start the wrong way",
    "turn_s": "time to turn",
    "place_error_m": "deviation of the first probe hole",
    "probe_ready_s": "time to put the probe together",
    "probe_hole_s": "time of a probe hole",
    "strike_felt_fraction": "how often a strike is felt",
    "marking_fraction": "how often people mark a set with success",
    "left_on_fraction": "how often diggers leave their set on",
    "shovel_ready_s": "time to put the shovel together",
    "dig_rate_kg_s": "snow moved per person",
    "turn_about_above_m": "rise of the reading until people turn about",
    "near_reading_m": "reading from which people walk slower",
    "fine_reading_m": "reading from which fine search begins",
    "past_lowest_m": "way past the lowest reading",
    "fine_rise_m": "rise of the reading at which a leg of the cross ends",
    "fine_leg_m": "length of a leg of the cross",
    "person_length_m": "length of the body for the probe",
    "person_width_m": "width of the body for the probe",
    "start_far_fraction": "how often the hole is started too far away",
    "person_thickness_m": "thickness of the body for the probe",
    "body_tilt_rad": "tilt of the body",
    "look_s": "time to turn a set with one antenna",
    "look_pace": "pace with one antenna",
    "gear_off_s": "time to take off skis or snowshoes",
    "digging.width_m": "width of the trench",
    "digging.length_flat": "length of the trench on the flat",
    "digging.length_steep": "length of the trench on steep ground",
    "digging.bulk": "snow moved over that of a clean hole",
    "digging.turns": "gain by taking turns",
    "digging.reach_m": "how far one person throws the snow",
    "digging.block_loss": "how fast diggers tire",
    "digging.far_factor": "more snow where the hole starts too far away",
    "digging.blind_factor": "more snow where no probe struck",
    "digging.hand_factor": "rate without a shovel",
    "digging.uncover_s": "time to free the airway by hand",
    "digging.snow_spread": "how the snow differs from run to run",
    "line_rate_m2_s": "ground probed per person in a line",
}


def constant_words(name: str) -> str:
    """Return what people call a constant; its own name in plain words where the table does not know it."""
    return CONSTANT_WORDS.get(name) or name.replace("_", " ")
