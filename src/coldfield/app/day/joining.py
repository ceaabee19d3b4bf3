"""Match a phone's burials and searchers with a drill's, for a run that was begun without the drill."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any, Literal

from pydantic import BaseModel, ConfigDict, ValidationError

from coldfield.errors import BadInput
from coldfield.files.day_model import BurialItem, ItemLine, SameItem, SearcherItem
from coldfield.message import message

Same = tuple[Mapping[str, str], Mapping[str, str]]
"""Names on the phone -> names in the drill: of burials, and of searchers."""

OTHER = "-2"
"""Added to a phone's name that the drill uses for another one of the phone's burials or searchers."""


def called_alike(items: Iterable[ItemLine]) -> list[ItemLine]:
    """Return items with the drill's names of burials and searchers.

    The latest `same` item of each `of` holds the matching; `same` items themselves are left out.
    """
    given = list(items)
    latest: dict[str, SameItem] = {}
    for item in sorted((one for one in given if isinstance(one, SameItem)), key=lambda one: (one.n, one.id)):
        latest[item.of] = item
    rest = [one for one in given if not isinstance(one, SameItem)]
    return [_called(one, latest[one.of]) if one.of in latest else one for one in rest]


def _called(item: ItemLine, same: SameItem) -> ItemLine:
    change: dict[str, Any] = {}
    for names, one, many in (
        (same.burials, "burial", "missing"),
        (same.searchers, "searcher", "searchers"),
    ):
        if name := getattr(item, one, None):
            change[one] = _name(name, names)
        if isinstance(several := getattr(item, many, None), list):
            change[many] = [_name(name, names) for name in several]
    if isinstance(item, BurialItem) and item.state == "added" and item.burial in same.burials:
        change["state"] = "as planned"
    return item.model_copy(update=change) if change else item


def _name(name: str, names: Mapping[str, str]) -> str:
    if name in names:
        return names[name]
    return _free(name, names.values())


def _free(name: str, taken: Iterable[str]) -> str:
    known = set(taken)
    while name in known:
        name = f"{name[: 40 - len(OTHER)]}{OTHER}"
    return name


def burials_told(items: Iterable[ItemLine]) -> list[str]:
    """Return the burials that items are about, in the order in which each phone first mentions them."""
    ordered = sorted(items, key=lambda one: (one.n, one.phone))
    first = [one.burial for one in ordered if isinstance(one, BurialItem)]
    rest = [name for one in ordered if (name := getattr(one, "burial", None))]
    return list(dict.fromkeys([*first, *rest]))


def searchers_told(items: Iterable[ItemLine]) -> dict[str, str]:
    """Return the people added on phones, id -> name."""
    return {one.searcher: one.name for one in items if isinstance(one, SearcherItem)}


def usual(
    items: Sequence[ItemLine], burials: Sequence[str], searchers: Mapping[str, str]
) -> tuple[dict[str, str], dict[str, str]]:
    """Return the default matching, used unless somebody chooses another.

    Burials are matched by name, then the rest in order; people by name.

    Parameters
    ----------
    items : sequence of ItemLine
        What the phones recorded.
    burials : sequence of str
        The burials of the drill, in order.
    searchers : mapping of str to str
        The drill's searchers, id -> name.

    Returns
    -------
    tuple of dict
        Phone's burial -> drill's, phone's searcher -> drill's; those without a match in the drill
        are left out.
    """
    mine = burials_told(items)
    alike = {name.casefold(): name for name in burials}
    found = {name: alike[name.casefold()] for name in mine if name.casefold() in alike}
    left = [name for name in burials if name not in found.values()]
    found |= dict(zip([name for name in mine if name not in found], left, strict=False))
    people = _by_name(searchers_told(items), searchers)
    return {name: found[name] for name in mine if name in found}, people


def _by_name(told: Mapping[str, str], searchers: Mapping[str, str]) -> dict[str, str]:
    found: dict[str, str] = {}
    for name_id, name in told.items():
        fits = [
            one for one, theirs in searchers.items() if theirs.strip().casefold() == name.strip().casefold()
        ]
        if name_id not in searchers and len(fits) == 1 and fits[0] not in found.values():
            found[name_id] = fits[0]
    return found


class _Same(BaseModel):
    model_config = ConfigDict(extra="forbid")
    burials: dict[str, str] = {}
    searchers: dict[str, str] = {}


def read_same(text: str) -> tuple[dict[str, str], dict[str, str]]:
    """Return a matching of burials and searchers, from JSON.

    Raises
    ------
    BadInput
        If it is not such JSON.
    """
    try:
        same = _Same.model_validate_json(text)
    except ValidationError:
        raise BadInput(message("fault.same_json").at("same")) from None
    return same.burials, same.searchers


_NOT_THERE = {"burial": "fault.same_no_burial", "searcher": "fault.same_no_searcher"}
_PLACES = {"burial": "place.same_burial", "searcher": "place.same_searcher"}
_TWICE = {"burial": "fault.burial_chosen_twice", "searcher": "fault.searcher_chosen_twice"}


def check_same(names: Mapping[str, str], known: Iterable[str], what: Literal["burial", "searcher"]) -> None:
    """Refuse a choice that uses a name twice, or one that the drill does not have.

    Raises
    ------
    BadInput
        With one line per fault.
    """
    drill = set(known)
    faults = [
        message(_NOT_THERE[what], name=name).at(message(_PLACES[what], name=one))
        for one, name in names.items()
        if name not in drill
    ]
    chosen = list(names.values())
    faults += [message(_TWICE[what], name=name) for name in sorted(set(chosen)) if chosen.count(name) > 1]
    if faults:
        raise BadInput(faults)
