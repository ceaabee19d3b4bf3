"""What is asked of a record at every door: the form of its kind, and what no form can say of a drill."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

from pydantic import ValidationError

from coldfield.errors import BadInput
from coldfield.files.drill_json import read_drill
from coldfield.files.faults import fault_lines
from coldfield.records.forms import Form
from coldfield.records.kinds import kind_of


def read_form(kind_name: str, fields: Mapping[str, Any]) -> Form:
    """Return the checked form of a kind.

    Raises
    ------
    BadInput
        With one line per fault.
    """
    form = kind_of(kind_name).form
    try:
        return form.model_validate(dict(fields))
    except ValidationError as error:
        raise BadInput(fault_lines(error, form)) from None


def checked(kind_name: str, form: Form) -> dict[str, Any]:
    """Return the fields of a form as they are kept.

    Raises
    ------
    BadInput
        If a drill file in it cannot be used.
    """
    fields = form.fields()
    if kind_name == "drills":
        read_drill(json.dumps(fields["document"]), "document")
    return fields
