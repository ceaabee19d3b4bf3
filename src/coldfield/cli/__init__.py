"""The commands, each a thin layer over a use case."""
