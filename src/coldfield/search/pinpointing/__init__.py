"""The last metres: fine search and probing."""
