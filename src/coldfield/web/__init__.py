"""The page in the browser and what serves it."""
