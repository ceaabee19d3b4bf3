"""The ground under a drill: an elevation grid laid, kept and screened."""
