"""A planned practice search."""

from __future__ import annotations

from dataclasses import dataclass

from coldfield.drill.burial import Burial
from coldfield.drill.conditions import Conditions
from coldfield.drill.searcher import Searcher
from coldfield.drill.site import Site
from coldfield.errors import UnknownRecord
from coldfield.message import message


@dataclass(frozen=True, slots=True, kw_only=True)
class Drill:
    """Site, burials, searchers and conditions of one practice search."""

    name: str
    site: Site
    burials: tuple[Burial, ...]
    searchers: tuple[Searcher, ...]
    conditions: Conditions

    def searcher(self, who: str) -> Searcher:
        """Return the searcher whose id or name is `who`.

        Raises
        ------
        UnknownRecord
            If nobody has that id or name; the message lists the people there are.
        """
        for searcher in self.searchers:
            if who in (searcher.id, searcher.name):
                return searcher
        if not self.searchers:
            raise UnknownRecord(message("fault.no_searchers_at_all", searcher=who))
        known = tuple(searcher.id for searcher in self.searchers)
        raise UnknownRecord(message("fault.no_such_searcher", searcher=who, known=known))
