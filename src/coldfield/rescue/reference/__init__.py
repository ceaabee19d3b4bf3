"""State and rules of the plain-Python reference; the door is `coldfield.rescue.searcher_model`."""
