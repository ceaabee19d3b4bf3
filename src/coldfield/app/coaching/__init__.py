"""Use cases that close the loop: learn from runs, progress, what to practise next, the drill for it."""
