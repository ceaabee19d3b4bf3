"""Write which fields each kind of record has for the front end. Run: python design/write_fields.py FILE."""

from __future__ import annotations

import sys
from pathlib import Path

from coldfield.records.kinds import KINDS

HEAD = """/** The kinds of records a person fills in, and which fields of a stored one are theirs.
 *  Written by design/write_fields.py from the kinds themselves. */
import type * as schema from './schema'
"""


def fields() -> str:
    """Return the module: the form of each kind that people fill in, and the names of its fields."""
    kinds = [kind for kind in KINDS.values() if kind.by_hand]
    forms = [f"  {kind.name}: schema.Schema{kind.form.__name__}" for kind in kinds]
    names = [f"  {kind.name}: {list(kind.form.model_fields)}," for kind in kinds]
    return "\n".join(
        [
            HEAD,
            *("export interface Forms {", *forms, "}", ""),
            "export const FIELDS: { readonly [K in keyof Forms]: readonly (keyof Forms[K])[] } = {",
            *names,
            "}\n",
        ]
    )


if __name__ == "__main__":
    Path(sys.argv[1]).write_text(fields(), encoding="utf-8")
