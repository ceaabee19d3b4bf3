"""The time zone of a ground."""

from __future__ import annotations

from math import degrees

from coldfield.drill.site import Site


def zone_of(site: Site) -> str | None:
    """Return the time zone of a ground by its name in the tz database; None if it has no map position.

    The borders come from the library tzfpy, simplified to a few hundred metres. At sea the name is
    'Etc/GMT...'.
    """
    if site.origin.nowhere:
        return None
    import tzfpy

    found = tzfpy.get_tz(degrees(site.origin.longitude_rad), degrees(site.origin.latitude_rad))
    return found or None
