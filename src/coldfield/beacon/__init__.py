"""The 457 kHz field, what a receiver makes of it, and the lines it leads along; arrays in, arrays out."""
