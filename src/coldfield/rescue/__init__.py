"""The searcher model, its rehearsals, digging, and what changes are worth."""

MODEL_VERSION = 2
"""Number of the model of rehearsals; raised whenever the same drill and seed give other results."""


def is_this_model(version: object) -> bool:
    """Tell whether what is kept with a version was worked out by this model; without one it is older.

    Examples
    --------
    >>> [is_this_model(version) for version in (MODEL_VERSION, None, 0)]
    [True, False, False]
    """
    return version == MODEL_VERSION and not isinstance(version, bool)
