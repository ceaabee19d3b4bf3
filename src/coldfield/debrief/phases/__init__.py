"""The phases of a search, from tracks and from splits."""
