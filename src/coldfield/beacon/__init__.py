"""The 457 kHz field, how a receiver responds to it, and the lines that searchers follow; arrays only."""
