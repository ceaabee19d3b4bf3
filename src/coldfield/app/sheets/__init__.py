"""Use cases on paper: sheets for the field and hand-outs."""
