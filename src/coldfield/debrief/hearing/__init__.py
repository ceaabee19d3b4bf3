"""What each receiver hears at the places of a recorded way, and the lines of equal reading."""
