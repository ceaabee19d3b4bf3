"""What a group practises next."""
