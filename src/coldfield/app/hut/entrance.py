"""The passphrase for the app, and the sessions that it opened."""

from __future__ import annotations

import secrets
import threading
from collections.abc import Callable
from dataclasses import dataclass
from hashlib import sha256

from argon2 import PasswordHasher
from argon2.exceptions import VerifyMismatchError

from coldfield.app.hut.budget import Budget, neighbourhood
from coldfield.errors import BadInput
from coldfield.message import message

LEAST_SIGNS, MOST_SIGNS = 10, 200
"""The shortest and longest passphrase, characters. Setting."""

SESSION_S = 14 * 3600.0
"""The length of a session: one day in the snow, s. Setting."""

MOST_SESSIONS = 200


@dataclass(frozen=True, slots=True)
class Entered:
    """What a browser gets: `session` opens the app; `device` gives it its own guesses later."""

    session: str
    device: str


@dataclass(frozen=True, slots=True)
class KeptOut:
    """Not let in: `wait_s` is 0 if the passphrase was wrong, else the time until one is checked again, s."""

    wait_s: float


class Entrance:
    """Lets in people who know the passphrase; only its hash is kept, in memory.

    Guesses are counted for each address and in total. A browser that was in before is counted separately, so
    that somebody who guesses from the same address does not lock it out.

    Parameters
    ----------
    passphrase : str
        The passphrase.
    clock : callable
        A monotonic clock, s.
    hasher : PasswordHasher, optional
        Argon2 with other cost parameters than those of RFC 9106 for low memory.

    Raises
    ------
    BadInput
        If the passphrase is too short or too long.
    """

    def __init__(
        self, passphrase: str, *, clock: Callable[[], float], hasher: PasswordHasher | None = None
    ) -> None:
        if not LEAST_SIGNS <= len(passphrase) <= MOST_SIGNS:
            raise BadInput(message("fault.passphrase_length", least=LEAST_SIGNS, most=MOST_SIGNS))
        self._hasher = hasher or PasswordHasher()
        self._hash = self._hasher.hash(passphrase)
        self._clock = clock
        self._each = Budget(most=8, every_s=30.0, clock=clock)
        self._all = Budget(most=60, every_s=5.0, clock=clock)
        self._sessions: dict[str, float] = {}
        self._devices: set[str] = set()
        self._one_at_a_time = threading.Lock()

    def enter(self, passphrase: str, *, address: str, device: str = "") -> Entered | KeptOut:
        """Check a typed passphrase.

        Parameters
        ----------
        passphrase : str
            What was typed.
        address : str
            The sender's address.
        device : str
            The token from an earlier session of the browser.
        """
        known = _digest(device) in self._devices
        who = f"device {_digest(device)}" if known else neighbourhood(address)
        if wait_s := self._each.spend(who):
            return KeptOut(wait_s)
        if wait_s := self._all.spend(""):
            self._each.give_back(who)
            return KeptOut(wait_s)
        # One at a time: each takes 64 MiB.
        with self._one_at_a_time:
            if not self._is_right(passphrase[: MOST_SIGNS + 1]):
                return KeptOut(0.0)
            self._each.give_back(who)
            self._all.give_back("")
            return self._let_in(device if known else secrets.token_urlsafe(32))

    def _is_right(self, passphrase: str) -> bool:
        try:
            return self._hasher.verify(self._hash, passphrase)
        except VerifyMismatchError:
            return False

    def _let_in(self, device: str) -> Entered:
        session = secrets.token_urlsafe(32)
        while len(self._sessions) >= MOST_SESSIONS:
            del self._sessions[next(iter(self._sessions))]
        self._sessions[_digest(session)] = self._clock() + SESSION_S
        self._devices.add(_digest(device))
        return Entered(session, device)

    def is_in(self, session: str) -> bool:
        """Return whether a browser was let in and may still stay."""
        return self._clock() < self._sessions.get(_digest(session), 0.0)

    def leave(self, session: str) -> None:
        """End a session."""
        self._sessions.pop(_digest(session), None)


def _digest(token: str) -> str:
    return sha256(token.encode()).hexdigest()
