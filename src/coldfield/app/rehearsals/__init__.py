"""Rehearsals of a drill: runs, bands, traces, pictures."""
