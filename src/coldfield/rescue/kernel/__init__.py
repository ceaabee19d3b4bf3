"""The searcher model as a separate compiled program; `coldfield.rescue.kernel.runs` is the way in.

It is a second implementation that shares no code with the plain player. It uses other field algebra
(squares of the field's ellipse in level axes turned to the slope, by the formulas of
`coldfield.beacon.formulas`), its own random generator (Philox written out), and flat arrays.
"""
