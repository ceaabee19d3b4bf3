"""Limit how often somebody may guess wrong before they have to wait."""

from __future__ import annotations

import threading
from collections.abc import Callable
from ipaddress import IPv6Address, ip_address

MOST_REMEMBERED = 4096
"""The most guessers that are remembered at a time. Setting."""


class Budget:
    """For each guesser, a number of guesses at once, and one more after each interval.

    A guess is counted before it is checked, and given back if it was right. This also limits guesses that
    arrive at the same time.

    Parameters
    ----------
    most : int
        Guesses at once.
    every_s : float
        The time after which one more is allowed, s.
    clock : callable
        A monotonic clock, s.
    """

    def __init__(self, *, most: int, every_s: float, clock: Callable[[], float]) -> None:
        self.most, self.every_s, self.clock = most, every_s, clock
        self._spent: dict[str, tuple[float, float]] = {}
        self._one_at_a_time = threading.Lock()

    def spend(self, who: str) -> float:
        """Count a guess; return 0, or the time to wait if none is left, s."""
        with self._one_at_a_time:
            spent, now = self._now(who)
            if spent > self.most - 1:
                return (spent - (self.most - 1)) * self.every_s
            self._keep(who, spent + 1, now)
            return 0.0

    def give_back(self, who: str) -> None:
        """Give back a guess that was right, or was not checked."""
        with self._one_at_a_time:
            spent, now = self._now(who)
            self._keep(who, max(spent - 1, 0.0), now)

    def _now(self, who: str) -> tuple[float, float]:
        now = self.clock()
        spent, at = self._spent.get(who, (0.0, now))
        return max(spent - (now - at) / self.every_s, 0.0), now

    def _keep(self, who: str, spent: float, now: float) -> None:
        self._spent.pop(who, None)
        if spent:
            self._spent[who] = (spent, now)
        while len(self._spent) > MOST_REMEMBERED:
            # The one whose last guess is oldest has most of the budget back by now.
            del self._spent[next(iter(self._spent))]


def neighbourhood(address: str) -> str:
    """Return what one guesser cannot change: an IPv4 address, or the 64-bit network of an IPv6 address.

    Examples
    --------
    >>> neighbourhood("2001:db8:1:2:3:4:5:6"), neighbourhood("192.0.2.7")
    ('2001:db8:1:2::', '192.0.2.7')
    """
    try:
        found = ip_address(address.partition("%")[0])
    except ValueError:
        return address
    if isinstance(found, IPv6Address) and found.ipv4_mapped is None:
        return str(IPv6Address(int(found) >> 64 << 64))
    return str(found)
