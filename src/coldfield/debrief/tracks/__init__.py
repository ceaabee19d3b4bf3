"""Recorded tracks: assigned to people, cleaned, and aligned with the plan."""
