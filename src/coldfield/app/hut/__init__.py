"""Sharing in the hut: who may come in by the passphrase, and what phones may add to a run by its codes."""
