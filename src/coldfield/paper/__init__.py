"""Paper that is taken along or handed out: each sheet is a list of blocks, pressed into a PDF in one look."""
