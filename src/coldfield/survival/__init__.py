"""Published survival curves, and how a run is compared with them."""
