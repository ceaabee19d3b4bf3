"""What a debrief says about the code that made it."""

from __future__ import annotations

from hashlib import sha256
from pathlib import Path

import pytest

from coldfield.app.debriefs import from_records
from coldfield.app.debriefs.from_records import MODELS, sum_of


@pytest.mark.parametrize("package", MODELS)
def test_independent_route_the_sum_of_a_package_covers_every_file_in_it(package: str) -> None:
    # Paths of the file system, against the resources of the package.
    root = Path(from_records.__file__).parents[2] / package
    digest = sha256()
    for file in sorted(root.rglob("*.py"), key=lambda file: file.relative_to(root).parts):
        digest.update(file.relative_to(root).as_posix().encode() + b"\0" + file.read_bytes() + b"\0")
    assert sum_of(package) == digest.hexdigest()


def test_contract_code_in_folders_counts() -> None:
    root = Path(from_records.__file__).parents[2] / "debrief"
    assert any(file.parent != root for file in root.rglob("*.py"))
