"""Sharing in the hut: access by passphrase, and what phones may add to a run with its codes."""
