"""Turn recorded tracks and splits into phases, swept ground and findings."""
