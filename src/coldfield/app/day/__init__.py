"""A day in the snow: what phones take along, and what they bring back."""
