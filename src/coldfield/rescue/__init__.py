"""The searcher model, its rehearsals, digging, and the gain from changes."""

MODEL_VERSION = 2
"""Version of the rehearsal model; increased whenever the same drill and seed give different results."""


def is_this_model(version: object) -> bool:
    """Return whether a result stored with this version comes from the present model; None is older.

    Examples
    --------
    >>> [is_this_model(version) for version in (MODEL_VERSION, None, 0)]
    [True, False, False]
    """
    return version == MODEL_VERSION and not isinstance(version, bool)
