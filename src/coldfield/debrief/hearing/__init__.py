"""What each receiver hears along a recorded walk, and lines of equal reading."""
