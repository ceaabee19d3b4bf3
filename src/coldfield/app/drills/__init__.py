"""Drill files: read, written, begun from a boundary."""
