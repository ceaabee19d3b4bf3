"""Use cases on records: reading, keeping, overviews, where they are."""
