"""Use cases of the kit: what is known of sets, and how it is found out."""
