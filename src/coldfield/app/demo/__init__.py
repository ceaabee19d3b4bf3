"""The demo: an invented drill, a run of it and its debrief."""
