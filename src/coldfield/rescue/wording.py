"""Times of rehearsals in words, for commands and pictures. 'Eight of ten' is p10 to p90, everywhere."""

from __future__ import annotations

AS_SURE = "as sure as the settings are"
AS_RUNS = "as runs scatter"
"""The two bands: with the constants drawn too, and with them at their middles."""


def about(seconds: float) -> str:
    """Return a time with the digits it has: whole minutes from six on, tens of seconds from one on.

    Examples
    --------
    >>> [about(seconds) for seconds in (47.4, 347.0, 372.0)]
    ['47 s', '5 min 50 s', '6 min']
    """
    step = 60 if seconds >= 360.0 else 10 if seconds >= 60.0 else 1
    minutes, rest = divmod(round(seconds / step) * step, 60)
    if not minutes:
        return f"{rest} s"
    return f"{minutes} min {rest} s" if rest else f"{minutes} min"


def about_range(low: float, high: float) -> str:
    """Return a range, its unit once where both ends are whole minutes.

    Examples
    --------
    >>> about_range(372.0, 838.0), about_range(55.0, 372.0)
    ('6 to 14 min', '55 s to 6 min')
    """
    first, last = about(low), about(high)
    if first.endswith(" min") and last.endswith(" min"):
        first = first.removesuffix(" min")
    return f"{first} to {last}"


def eight_of_ten(low: float | None, high: float | None, horizon_s: float) -> str:
    """Return the times of eight runs of ten; None: later than the horizon.

    Examples
    --------
    >>> eight_of_ten(240.0, 838.0, 3600.0)
    'eight of ten: 4 to 14 min'
    >>> eight_of_ten(420.0, None, 3600.0)
    'eight of ten: 7 min to later than 60 min'
    >>> eight_of_ten(None, None, 3600.0)
    'nine of ten: later than 60 min'
    """
    late = f"later than {horizon_s / 60.0:.0f} min"
    if low is None:
        return f"nine of ten: {late}"
    return "eight of ten: " + (f"{about(low)} to {late}" if high is None else about_range(low, high))


def not_freed(freed_fraction: float, horizon_s: float) -> str | None:
    """Return how many runs leave the airway buried until the horizon; None where none does.

    Examples
    --------
    >>> not_freed(0.94, 3600.0), not_freed(0.998, 3600.0), not_freed(1.0, 3600.0)
    ('in 6 of 100 runs not freed within 60 min', 'in fewer than 1 of 100 runs not freed within 60 min', None)
    """
    late = 100.0 * (1.0 - freed_fraction)
    if late <= 0.0:
        return None
    share = "fewer than 1" if late < 1.0 else f"{late:.0f}"
    return f"in {share} of 100 runs not freed within {horizon_s / 60.0:.0f} min"
