"""From recorded tracks and splits to phases, swept ground and findings."""
