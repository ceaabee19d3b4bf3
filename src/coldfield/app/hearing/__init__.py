"""What is heard where: at a place, on maps, along flux lines, with overlapping pulses, from neighbours."""
