"""Exercises against whatever cost minutes: one list, in one place."""

from coldfield.coaching.exercises.choosing import exercise_against, exercise_for_phase
from coldfield.coaching.exercises.exercise import COMMON_PRACTICE, Exercise, Wish
from coldfield.coaching.exercises.listed import EXERCISES
from coldfield.coaching.exercises.telling import told_to_group

__all__ = [
    "COMMON_PRACTICE",
    "EXERCISES",
    "Exercise",
    "Wish",
    "exercise_against",
    "exercise_for_phase",
    "told_to_group",
]
