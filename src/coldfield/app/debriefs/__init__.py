"""Debriefs: from files or records of a run to what the group sees."""
