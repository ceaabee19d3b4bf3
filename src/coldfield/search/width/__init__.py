"""Strip widths: how far from a lane a set is heard, and how far apart lanes may lie."""
