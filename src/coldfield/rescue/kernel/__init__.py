"""The searcher model as a compiled program of its own; the door is `coldfield.rescue.kernel.runs`.

Written a second time, sharing no code with the plain player: another field algebra (squares of the
field's ellipse in level axes turned to the slope, by the formulas of `coldfield.beacon.formulas`),
another random generator (Philox written out), flat arrays.
"""
