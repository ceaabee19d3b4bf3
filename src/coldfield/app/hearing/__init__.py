"""What is heard where: places, maps, flux lines, overlapping pulses, neighbours."""
