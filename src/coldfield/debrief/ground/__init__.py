"""The ground that a signal search swept, and the gaps it left."""
