"""Seasons of drills, kept safely: the tables, the store, its migrations, and ways in and out."""
