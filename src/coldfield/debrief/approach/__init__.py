"""How a person came to a burial: what they heard, when they turned, which line they walked."""
