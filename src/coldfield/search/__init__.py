"""Strip widths, lanes, detection, fine search and probing."""
