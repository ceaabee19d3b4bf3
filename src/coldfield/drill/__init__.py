"""The objects of a drill: site, burials, searchers, conditions; frozen, in SI units and radians.

Examples
--------
>>> from coldfield.drill import Receiver
>>> Receiver(coaxial_range_m=45.0).antenna_factors
(1.0, 1.0, 3.0)
"""

from coldfield.drill.burial import Antenna, Burial, Transmitter
from coldfield.drill.conditions import Conditions
from coldfield.drill.drill import Drill
from coldfield.drill.run import AsBuried, Split, Splits
from coldfield.drill.searcher import Receiver, Searcher
from coldfield.drill.site import Anchor, Origin, Site
from coldfield.drill.skills import SKILLS, Skill

__all__ = [
    "SKILLS",
    "Anchor",
    "Antenna",
    "AsBuried",
    "Burial",
    "Conditions",
    "Drill",
    "Origin",
    "Receiver",
    "Searcher",
    "Site",
    "Skill",
    "Split",
    "Splits",
    "Transmitter",
]
