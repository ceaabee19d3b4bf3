"""The searcher model, its rehearsals, digging, and what changes are worth."""

MODEL_VERSION = 2
"""Number of the model of rehearsals; raised whenever the same drill and seed give other results."""
