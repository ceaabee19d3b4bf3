"""Writes take turns in separate threads, so that a request that reads never waits for them."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial, wraps
from typing import Any, TypeVar

from anyio import CapacityLimiter, move_on_after, to_thread
from anyio.lowlevel import RunVar

from coldfield.records.database import BUSY_S
from coldfield.records.faults import busy

WRITERS = 64
"""The most write requests that run or wait at a time. Setting."""

_T = TypeVar("_T")
_writers: RunVar[CapacityLimiter] = RunVar("coldfield_writers")


async def in_turn(function: Callable[..., _T], /, *args: Any, **options: Any) -> _T:
    """Call a function that writes records in a thread for writes.

    Raises
    ------
    StoreTrouble
        If no such thread is free within `BUSY_S`; nothing was done.
    """
    try:
        writers = _writers.get()
    except LookupError:
        writers = CapacityLimiter(WRITERS)
        _writers.set(writers)
    place = object()
    with move_on_after(BUSY_S) as waiting:
        await writers.acquire_on_behalf_of(place)
    if waiting.cancelled_caught:
        raise busy()
    try:
        return await to_thread.run_sync(partial(function, *args, **options), limiter=CapacityLimiter(1))
    finally:
        writers.release_on_behalf_of(place)


def writes(endpoint: Callable[..., _T]) -> Callable[..., Any]:
    """Return an endpoint that runs in a thread for writes."""

    @wraps(endpoint)
    async def waiting(*args: Any, **options: Any) -> _T:
        return await in_turn(endpoint, *args, **options)

    return waiting
