"""Text and bytes to objects and back; no maths."""
