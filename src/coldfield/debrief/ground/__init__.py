"""The ground swept in signal search, and its gaps."""
