"""The names of the model's constants for people."""

from __future__ import annotations

from collections.abc import Mapping

from coldfield.message import Message, message, verbatim

CONSTANT_WORDS: Mapping[str, Message] = {
    "reaction_s": message("term.constant.reaction_s"),
    "signal_speed_m_s": message("term.constant.signal_speed_m_s"),
    "coarse_speed_m_s": message("term.constant.coarse_speed_m_s"),
    "near_speed_m_s": message("term.constant.near_speed_m_s"),
    "fine_speed_m_s": message("term.constant.fine_speed_m_s"),
    "direction_noise_rad": message("term.constant.direction_noise_rad"),
    "wrong_way_fraction": message("term.constant.wrong_way_fraction"),
    "turn_s": message("term.constant.turn_s"),
    "place_error_m": message("term.constant.place_error_m"),
    "probe_ready_s": message("term.constant.probe_ready_s"),
    "probe_hole_s": message("term.constant.probe_hole_s"),
    "strike_felt_fraction": message("term.constant.strike_felt_fraction"),
    "marking_fraction": message("term.constant.marking_fraction"),
    "left_on_fraction": message("term.constant.left_on_fraction"),
    "shovel_ready_s": message("term.constant.shovel_ready_s"),
    "dig_rate_kg_s": message("term.constant.dig_rate_kg_s"),
    "turn_about_above_m": message("term.constant.turn_about_above_m"),
    "near_reading_m": message("term.constant.near_reading_m"),
    "fine_reading_m": message("term.constant.fine_reading_m"),
    "past_lowest_m": message("term.constant.past_lowest_m"),
    "fine_rise_m": message("term.constant.fine_rise_m"),
    "fine_leg_m": message("term.constant.fine_leg_m"),
    "person_length_m": message("term.constant.person_length_m"),
    "person_width_m": message("term.constant.person_width_m"),
    "start_far_fraction": message("term.constant.start_far_fraction"),
    "person_thickness_m": message("term.constant.person_thickness_m"),
    "body_tilt_rad": message("term.constant.body_tilt_rad"),
    "look_s": message("term.constant.look_s"),
    "look_pace": message("term.constant.look_pace"),
    "gear_off_s": message("term.constant.gear_off_s"),
    "digging.width_m": message("term.constant.digging_width_m"),
    "digging.length_flat": message("term.constant.digging_length_flat"),
    "digging.length_steep": message("term.constant.digging_length_steep"),
    "digging.bulk": message("term.constant.digging_bulk"),
    "digging.turns": message("term.constant.digging_turns"),
    "digging.reach_m": message("term.constant.digging_reach_m"),
    "digging.block_loss": message("term.constant.digging_block_loss"),
    "digging.far_factor": message("term.constant.digging_far_factor"),
    "digging.blind_factor": message("term.constant.digging_blind_factor"),
    "digging.hand_factor": message("term.constant.digging_hand_factor"),
    "digging.uncover_s": message("term.constant.digging_uncover_s"),
    "digging.snow_spread": message("term.constant.digging_snow_spread"),
    "line_rate_m2_s": message("term.constant.line_rate_m2_s"),
}


def constant_words(name: str) -> Message:
    """Return a constant's name for people; if it is not in the table, its own name in plain words."""
    return CONSTANT_WORDS.get(name) or verbatim(name.replace("_", " "))
