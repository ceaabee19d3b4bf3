"""Lanes: sharing the ground among the searchers, and walking it."""
