"""The searcher model as a compiled program of its own; the door is `coldfield.rescue.kernel.runs`.

Written a second time, sharing no code with the plain player: another field algebra (real
numbers, level axes turned to the slope), another random generator (Philox written out), flat arrays.
"""
