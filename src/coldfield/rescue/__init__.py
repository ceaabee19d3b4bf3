"""The whole rescue in the computer: searchers, digging, Monte Carlo rehearsal."""
