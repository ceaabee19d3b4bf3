"""The exercises themselves. Their sentences are in the part `exercises` of the words.

If a published text teaches what is practised, it is named. The exercise itself, its setup and its
number of repeats are our own wording of common practice.
"""

from __future__ import annotations

from coldfield.coaching.exercises.exercise import COMMON_PRACTICE, Exercise
from coldfield.message import message

EXERCISES: tuple[Exercise, ...] = (
    Exercise(
        id="stop_at_first_signal",
        practise=message("exercise.stop_at_first_signal"),
        kinds=("late_turn",),
    ),
    Exercise(
        id="walk_the_lanes",
        practise=message("exercise.walk_the_lanes"),
        kinds=("gap",),
        phases=("signal",),
        wish="upright",
    ),
    Exercise(
        id="follow_the_direction",
        practise=message("exercise.follow_the_direction"),
        kinds=("long_way",),
        phases=("coarse",),
    ),
    Exercise(
        id="turn_about",
        practise=message("exercise.turn_about"),
        kinds=("wrong_way",),
    ),
    Exercise(
        id="slow_below_10_m",
        practise=message("exercise.slow_below_10_m"),
        kinds=("fast_near",),
    ),
    Exercise(
        id="cross_on_the_snow",
        practise=message("exercise.cross_on_the_snow"),
        phases=("fine",),
        wish="deep",
    ),
    Exercise(
        id="spiral_of_the_probe",
        practise=message("exercise.spiral_of_the_probe"),
        source=message("exercise.source.spiral"),
        phases=("probe",),
        wish="deep",
    ),
    Exercise(
        id="probe_stays",
        practise=message("exercise.probe_stays"),
        source=message("exercise.source.spiral"),
        observations=("probe_left_in",),
    ),
    Exercise(
        id="dig_in_a_row",
        practise=message("exercise.dig_in_a_row"),
        source=message("exercise.source.digging"),
        phases=("dig",),
        observations=("diggers_placed",),
        wish="deep",
    ),
    Exercise(
        id="head_by_hand",
        practise=message("exercise.head_by_hand"),
        observations=("head_freed_by_hand",),
    ),
    Exercise(
        id="nearest_first",
        practise=message("exercise.nearest_first"),
        source=message("exercise.source.nearest"),
        kinds=("order",),
        wish="close-pair",
    ),
    Exercise(
        id="one_searches_on",
        practise=message("exercise.one_searches_on"),
        kinds=("bunched",),
        wish="close-pair",
    ),
    Exercise(
        id="strips_without_marking",
        practise=message("exercise.strips_without_marking"),
        source=message("exercise.source.strips"),
        kinds=("not_found",),
        wish="overlap",
    ),
    Exercise(
        id="next_task",
        practise=message("exercise.next_task"),
        kinds=("idle",),
    ),
    Exercise(
        id="first_minute",
        practise=message("exercise.first_minute"),
        observations=(
            "danger_looked_at",
            "leader_named",
            "missing_counted",
            "call_made",
            "others_off_transmit",
            "phones_away",
        ),
    ),
    Exercise(
        id="eyes_and_ears",
        practise=message("exercise.eyes_and_ears"),
        observations=("surface_clues",),
    ),
    Exercise(
        id="whole_search",
        practise=message("exercise.whole_search"),
        source=message("exercise.source.whole_search"),
        phases=("strike",),
    ),
    Exercise(
        id="whole_rescue",
        practise=message("exercise.whole_rescue"),
        source=COMMON_PRACTICE,
        phases=("airway",),
    ),
)
"""In the order of a rescue, as far as possible; the first one that fits a flaw is shown."""
