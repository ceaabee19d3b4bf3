"""The chance that each place of the ground is heard from the walked lanes."""
