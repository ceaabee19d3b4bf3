"""Use cases for coaching: learn from runs, progress, what to practise next, and a drill for it."""
