"""Write which fields each kind of record has for the front end. Run: python design/write_fields.py FILE."""

from __future__ import annotations

import json
import sys
from pathlib import Path

from coldfield.files import drill_model
from coldfield.records.kinds import KINDS

PARTS = {
    "site": drill_model.SitePart,
    "burial": drill_model.BurialPart,
    "transmitter": drill_model.TransmitterPart,
    "receiver": drill_model.ReceiverPart,
    "searcher": drill_model.SearcherPart,
    "conditions": drill_model.ConditionsPart,
}
"""The parts of a drill file with optional keys."""

HEAD = """/** The kinds of records that people fill in, their fields, and what a drill file may leave out.
 *  Written by design/write_fields.py from the forms themselves. */
import type * as schema from './schema'
"""


def fields() -> str:
    """Return the module: the form of each kind that people edit, and the names of its fields."""
    kinds = [kind for kind in KINDS.values() if kind.by_hand]
    forms = [f"  {kind.name}: schema.Schema{kind.form.__name__}" for kind in kinds]
    names = [f"  {kind.name}: {list(kind.form.model_fields)}," for kind in kinds]
    return "\n".join(
        [
            HEAD,
            *("export interface Forms {", *forms, "}", ""),
            "export const FIELDS: { readonly [K in keyof Forms]: readonly (keyof Forms[K])[] } = {",
            *names,
            "}",
            "",
            "export const DEFAULTS = {",
            *(
                f"  {name}: {json.dumps(_left_out(part))} as {_type_of(part)},"
                for name, part in PARTS.items()
            ),
            "}\n",
        ]
    )


def _left_out(part: type[drill_model.Part]) -> dict[str, object]:
    """Return the defaults of optional keys; `probe` is only needed to say that there is no length."""
    optional = {name: info for name, info in part.model_fields.items() if not info.is_required()}
    return {name: info.default for name, info in optional.items() if name != "probe"}


def _type_of(part: type[drill_model.Part]) -> str:
    left = " | ".join(f"'{name}'" for name in _left_out(part))
    return f"Required<Pick<schema.Schema{part.__name__}, {left}>>"


if __name__ == "__main__":
    Path(sys.argv[1]).write_text(fields(), encoding="utf-8")
