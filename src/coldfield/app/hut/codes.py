"""Codes with which phones add to a run: they give no other access, end with the day and can be withdrawn."""

from __future__ import annotations

import secrets
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, time, timedelta
from hashlib import sha256
from hmac import compare_digest
from typing import Any, Literal
from uuid import uuid4

from argon2.low_level import Type, hash_secret_raw
from sqlalchemy import RowMapping, delete, insert, select

from coldfield.app.hut.budget import Budget, neighbourhood
from coldfield.errors import UnknownRecord
from coldfield.message import message
from coldfield.records import schema
from coldfield.records.database import Database
from coldfield.records.moments import stamp
from coldfield.records.store import Store

SIGNS = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
"""Crockford's base 32: no I, L, O and U, so that a code can be read aloud without confusion."""

LONG_BITS, TYPED_BITS = 64, 40
"""The bits of a code in a QR code, and of one that is typed."""

LONG, TYPED = 13, 8
"""The number of characters of these codes, at 5 bits each."""

_READ = str.maketrans("OIL", "011", " -")

May = Literal["keeper", "track"]
"""What a code may add: 'keeper' splits, observations and checks; 'track' one's own tracks."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RunCode:
    """A code of a run, valid until `until_utc`; `long` and `typed` are null after a restart."""

    id: str
    may: May
    created_utc: str
    until_utc: str
    long: str | None
    typed: str | None


@dataclass(frozen=True, slots=True)
class Admitted:
    """The run that a code adds to."""

    run_id: str


@dataclass(frozen=True, slots=True)
class Turned:
    """Not admitted: `wait_s` is 0 if there is no such code, else the time until the next check, s."""

    wait_s: float


def drawn(bits: int) -> str:
    """Return a random code with a number of bits."""
    value = secrets.randbits(bits)
    return "".join(SIGNS[value >> 5 * k & 31] for k in reversed(range(-(-bits // 5))))


def as_written(code: str) -> str:
    """Return a typed code in the form in which it was issued.

    Examples
    --------
    >>> as_written("o1l2-abcd")
    '0112ABCD'
    """
    return code[:64].upper().translate(_READ)


def end_of_day(now: datetime) -> datetime:
    """Return the end of a moment's day in this machine's time zone."""
    local = now.astimezone()
    return datetime.combine(local.date() + timedelta(days=1), time.min).astimezone()


def slow_digest(code: str, until_utc: str) -> str:
    """Return a slow hash: argon2id with the lowest recommended cost parameters (RFC 9106 and OWASP).

    The salt is that of the day, so one hash can be compared with all codes of the day.
    """
    salt = sha256(f"coldfield code {until_utc}".encode()).digest()[:16]
    return hash_secret_raw(code.encode(), salt, 2, 19_456, 1, 32, Type.ID).hex()


class Codes:
    """The codes of these records.

    A long code cannot be guessed. Typed codes can, so guesses are counted by address and in total. A phone
    that was admitted with a code can go on using it, even if somebody guesses from the same address.

    Parameters
    ----------
    database : Database
        The records.
    clock : callable
        A monotonic clock, s.
    slow : callable, optional
        Used instead of `slow_digest`.
    """

    def __init__(
        self,
        database: Database,
        *,
        clock: Callable[[], float],
        slow: Callable[[str, str], str] = slow_digest,
    ) -> None:
        self.database, self.slow = database, slow
        self._each = Budget(most=10, every_s=30.0, clock=clock)
        self._all = Budget(most=200, every_s=5.0, clock=clock)
        self._told: dict[str, tuple[str, str]] = {}
        self._admitted: dict[str, str] = {}

    def make(self, run_id: str, may: May) -> RunCode:
        """Make a code of a run.

        Raises
        ------
        UnknownRecord
            If there is no such run.
        """
        code_id, long, typed = str(uuid4()), drawn(LONG_BITS), drawn(TYPED_BITS)
        now = self.database.now()
        until = stamp(end_of_day(now))
        row: dict[str, Any] = {"id": code_id, "may": may, "created_utc": stamp(now), "until_utc": until}
        digests = {"digest": _quick(long), "typed_digest": self.slow(typed, until)}
        with self.database.write() as connection:
            Store(connection, self.database.stamp()).get("runs", run_id)
            over = schema.phone_code.c.until_utc < stamp(now)
            connection.execute(delete(schema.phone_code).where(over))
            connection.execute(insert(schema.phone_code).values(**row, **digests, run_id=run_id))
        self._told[code_id] = long, typed
        return RunCode(**row, long=long, typed=typed)

    def of_run(self, run_id: str) -> list[RunCode]:
        """Return the codes of a run that are valid today.

        Raises
        ------
        UnknownRecord
            If there is no such run.
        """
        table = schema.phone_code
        with self.database.read() as connection:
            Store(connection, self.database.stamp()).get("runs", run_id)
            query = select(table).where(table.c.run_id == run_id, table.c.until_utc == self._today())
            rows = connection.execute(query.order_by(table.c.created_utc, table.c.id)).mappings().all()
        return [self._code(row) for row in rows]

    def _code(self, row: RowMapping) -> RunCode:
        long, typed = self._told.get(row["id"], (None, None))
        told = {key: row[key] for key in ("id", "may", "created_utc", "until_utc")}
        return RunCode(**told, long=long, typed=typed)

    def withdraw(self, run_id: str, code_id: str) -> None:
        """Withdraw a code; do nothing if it is not valid."""
        table = schema.phone_code
        with self.database.write() as connection:
            mine = (table.c.id == code_id) & (table.c.run_id == run_id)
            if not connection.execute(delete(table).where(mine)).rowcount:
                raise UnknownRecord(message("fault.no_code"))
        self._told.pop(code_id, None)
        self._admitted = {pair: one for pair, one in self._admitted.items() if one != code_id}

    def admit(self, code: str, may: May, *, address: str, phone: str) -> Admitted | Turned:
        """Return the run that a code adds to; it takes the same work whether the code exists or not.

        Parameters
        ----------
        code : str
            The code as received.
        may : str
            What is to be added with it.
        address, phone : str
            The sender's address, and the phone's own id, which nobody else knows.
        """
        given = as_written(code)
        if len(given) == LONG:
            return self._found(_quick(given), "digest", may) or Turned(0.0)
        pair = _quick(f"{phone} {given}")
        if pair in self._admitted:
            return self._found(self.slow(given, self._today()), "typed_digest", may) or Turned(0.0)
        who = neighbourhood(address)
        if wait_s := self._each.spend(who):
            return Turned(wait_s)
        if wait_s := self._all.spend(""):
            self._each.give_back(who)
            return Turned(wait_s)
        found = self._found(self.slow(given, self._today()), "typed_digest", may, pair)
        if found is None:
            return Turned(0.0)
        self._each.give_back(who)
        self._all.give_back("")
        return found

    def _found(self, digest: str, column: str, may: May, pair: str = "") -> Admitted | None:
        table, run = schema.phone_code, schema.run
        query = select(table).join(run, run.c.id == table.c.run_id)
        query = query.where(
            run.c.deletion_id.is_(None), table.c.until_utc == self._today(), table.c.may == may
        )
        with self.database.read() as connection:
            rows = connection.execute(query).mappings().all()
        found = None
        for row in rows:
            # Look at every row, so that the time taken reveals nothing.
            if compare_digest(row[column], digest):
                found = row
        if found is None:
            return None
        if pair:
            self._admitted[pair] = found["id"]
        return Admitted(found["run_id"])

    def _today(self) -> str:
        return stamp(end_of_day(self.database.now()))


def _quick(code: str) -> str:
    return sha256(f"coldfield code {code}".encode()).hexdigest()
