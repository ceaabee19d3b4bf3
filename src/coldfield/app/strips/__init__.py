"""Strip widths, lanes and detection for a drill."""
