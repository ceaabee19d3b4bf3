"""The checks of a record, wherever it comes from: the form of its kind, and checks beyond the form."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from coldfield.records.forms import Form, filled_in
from coldfield.records.kinds import kind_of


def read_form(kind_name: str, fields: Mapping[str, Any]) -> Form:
    """Return the checked form of a kind.

    Raises
    ------
    BadInput
        With one line per fault.
    """
    return filled_in(kind_of(kind_name).form, fields)


def checked(kind_name: str, form: Form) -> dict[str, Any]:
    """Return the fields of a form as they are stored.

    Raises
    ------
    BadInput
        If their content cannot be used, such as a drill file.
    """
    fields = form.fields()
    kind_of(kind_name).check(fields)
    return fields
