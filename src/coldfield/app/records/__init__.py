"""Use cases on records: where they are, reading, keeping, overviews."""
