"""One clock for the tracks and splits of a run."""
