"""Text and bytes to nouns and back; no maths."""
