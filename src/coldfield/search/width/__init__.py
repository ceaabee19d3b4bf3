"""Strip widths: how far from a lane a set is heard, and how wide that lets people search."""
