"""Plan, rehearse, run and debrief avalanche companion-rescue drills."""

__version__ = "0.2.0"
