"""Make debriefs from files or records of a run."""
