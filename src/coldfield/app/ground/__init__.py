"""The ground of a drill: elevation grids and pictures, placed, kept and screened."""
