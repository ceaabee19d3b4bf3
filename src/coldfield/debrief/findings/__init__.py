"""What a run shows, in statements."""
