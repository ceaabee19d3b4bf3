"""Findings: statements about what a run shows."""
