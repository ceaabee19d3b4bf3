"""Published survival curves and how a run is read against them."""
