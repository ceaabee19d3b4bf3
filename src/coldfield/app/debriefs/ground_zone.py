"""The time zone of a ground."""

from __future__ import annotations

from math import degrees

from coldfield.drill.site import Site


def zone_of(site: Site) -> str | None:
    """Return the time zone of a ground by its name in the tz database; None if it has no map position.

    The borders are those of the library tzfpy, simplified to some hundred metres; the name of a sea is told
    as 'Etc/GMT...'.
    """
    if site.origin.nowhere:
        return None
    import tzfpy

    found = tzfpy.get_tz(degrees(site.origin.longitude_rad), degrees(site.origin.latitude_rad))
    return found or None
