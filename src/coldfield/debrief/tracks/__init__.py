"""Recorded tracks: whose they are, cleaned, and laid onto the plan."""
