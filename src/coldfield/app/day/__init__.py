"""A day in the snow: what phones carry out, and what they bring back."""
