"""Use cases: what a command or a page asks for, joined from nouns and maths."""
