"""The reasons for today's strip width: set by set, and without today's interference."""

from __future__ import annotations

from dataclasses import dataclass, replace

from coldfield.drill import Drill
from coldfield.errors import OutOfModel
from coldfield.search.width.lateral_range import Pair
from coldfield.search.width.strip_width import edge_width_m

SAMPLES = 4096
"""The number of random burials for these comparisons; the width itself uses eight times as many."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SetWidth:
    """The edge width if one set decided; None: outside the model."""

    id: str
    edge_width_m: float | None
    weakest: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class WidthReasons:
    """Edge widths: by searcher with the weakest transmitter, by burial with the weakest receiver, in quiet.

    Empty if the receiver or the transmitter was typed in.
    """

    searchers: tuple[SetWidth, ...]
    burials: tuple[SetWidth, ...]
    quiet_edge_width_m: float | None


def width_reasons(
    pair: Pair, drill: Drill | None, *, edge_m: float, pod: float, only_drill: tuple[bool, bool]
) -> WidthReasons:
    """Return the width that each set alone would allow, and that of a day without interference.

    Parameters
    ----------
    pair : Pair
        The weakest pair, which decides, with today's noise.
    drill : Drill, optional
        The drill whose searchers and burials are compared.
    edge_m : float
        The edge width of that pair, m.
    pod : float
        The wanted chance.
    only_drill : tuple of bool
        Whether the receivers, and the transmitters, are the drill's own.

    Notes
    -----
    Each width comes from 4,096 burials and is accurate to about 0.3 m. Equal receivers are computed once.
    """
    widths: dict[tuple[object, ...], float | None] = {_key(pair): edge_m}

    def alone(name: str, other: Pair) -> SetWidth:
        key = _key(other)
        if key not in widths:
            widths[key] = _edge(other, pod)
        return SetWidth(id=name, edge_width_m=widths[key], weakest=key == _key(pair))

    searchers: list[SetWidth] = []
    burials: list[SetWidth] = []
    if drill is not None and only_drill[0]:
        searchers = [alone(s.id, replace(pair, receiver=s.receiver)) for s in drill.searchers]
    if drill is not None and only_drill[1]:
        sent = [(b.id, b.transmitter) for b in drill.burials]
        burials = [alone(name, replace(pair, transmitter=t)) for name, t in sent if t is not None]
    quiet = edge_m if pair.noise_rise_db == 0.0 else _edge(pair.quiet(), pod)
    return WidthReasons(searchers=tuple(searchers), burials=tuple(burials), quiet_edge_width_m=quiet)


def _key(pair: Pair) -> tuple[object, ...]:
    """Return the values of a pair that its strip width depends on, except the day."""
    return pair.receiver, pair.transmitter.field_at_10m_a_per_m, pair.transmitter.period_s


def _edge(pair: Pair, pod: float) -> float | None:
    try:
        return edge_width_m(pair, pod=pod, samples=SAMPLES)
    except OutOfModel:
        return None
