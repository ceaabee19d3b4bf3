"""Times of rehearsals in words, for commands and pictures. 'Eight of ten' always means p10 to p90."""

from __future__ import annotations

from coldfield.message import Message, about, half_minutes, message, number

AS_SURE, AS_RUNS = message("term.as_sure"), message("term.as_runs")
"""The two bands: with the constants drawn too, and with them at their medians."""


def eight_of_ten(low: float | None, high: float | None, horizon_s: float) -> Message:
    """Return the times of eight of ten runs as a message; times in s, None: later than the horizon.

    Examples
    --------
    >>> from coldfield.words import say
    >>> say(eight_of_ten(388.0, 838.0, 3600.0)), say(eight_of_ten(90.0, 838.0, 3600.0))
    ('eight of ten: 6½ to 14 min', 'eight of ten: 1 min 30 s to 14 min')
    >>> say(eight_of_ten(420.0, None, 3600.0)), say(eight_of_ten(None, None, 3600.0))
    ('eight of ten: 7 min to later than 60 min', 'nine of ten: later than 60 min')
    """
    horizon = number(horizon_s / 60.0, 0)
    if low is None:
        return message("term.nine_of_ten_late", horizon=horizon)
    if high is None:
        return message("term.eight_of_ten_late", low=about(low), horizon=horizon)
    if (first := half_minutes(low)) is not None and (last := half_minutes(high)) is not None:
        return message("term.eight_of_ten_minutes", low=first, high=last)
    return message("term.eight_of_ten", low=about(low), high=about(high))


def not_freed(freed_fraction: float, horizon_s: float) -> Message | None:
    """Return in how many runs the airway is not free by the horizon; None if there are no such runs.

    Examples
    --------
    >>> from coldfield.words import say
    >>> [say(told) for told in map(lambda share: not_freed(share, 3600.0), (0.94, 0.998)) if told]
    ['in 6 of 100 runs not freed within 60 min', 'in fewer than 1 of 100 runs not freed within 60 min']
    """
    late, horizon = 100.0 * (1.0 - freed_fraction), number(horizon_s / 60.0, 0)
    if late <= 0.0:
        return None
    if late < 1.0:
        return message("term.few_not_freed", horizon=horizon)
    return message("term.not_freed", share=number(late, 0), horizon=horizon)
