"""Use cases of paper: what is taken along, and what is handed out."""
