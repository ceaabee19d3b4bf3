"""Use cases of the kit: measure the sets and use the results."""
