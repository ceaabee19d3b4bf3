"""Sheets to take along or hand out: each is a list of blocks, made into a PDF in one common style."""
