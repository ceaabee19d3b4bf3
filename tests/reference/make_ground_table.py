"""Print src/coldfield/beacon/ground_table.py: the field over ground, computed by empymod.

Run with:  python tests/reference/make_ground_table.py > src/coldfield/beacon/ground_table.py
"""

from __future__ import annotations

import empymod
import numpy as np

from coldfield.beacon.ground import GROUNDS, PARTS, SNOW_BELOW_M, UP_M, layered_parts

DISTANCE_M = np.geomspace(1.0, 120.0, 30)


def main() -> None:
    print('"""The field over ground, computed once by a reference library; made by a script, not by hand.')
    print()
    print(
        f"empymod {empymod.__version__}, tests/reference/make_ground_table.py. By kind of ground and part of the"
    )
    print(
        "field: (real, imaginary) times 4 pi r^3 for a unit moment, r the straight distance, at DISTANCE_M on"
    )
    print(f"the snow; the set {SNOW_BELOW_M} m above the ground, the receiver {UP_M} m above the set.")
    print('"""')
    print()
    print("# ruff: noqa: E501")
    print("# fmt: off")
    print(f"DISTANCE_M = {[float(f'{d:.6g}') for d in DISTANCE_M]}")
    print("PARTS_TIMES_R3: dict[str, dict[str, list[tuple[float, float]]]] = {")
    r3 = 4 * np.pi * np.hypot(DISTANCE_M, UP_M) ** 3
    for words, ground in GROUNDS.items():
        parts = layered_parts(DISTANCE_M, [ground], [], exact=True)
        print(f"    {words!r}: {{")
        for name in PARTS:
            rows = ", ".join(f"({v.real:.5g}, {v.imag:.5g})" for v in parts[name] * r3)
            print(f"        {name!r}: [{rows}],")
        print("    },")
    print("}")


if __name__ == "__main__":
    main()
