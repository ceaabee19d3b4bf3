from pathlib import Path

import pytest

from published import FOLDER, published


@pytest.mark.parametrize("path", sorted(FOLDER.glob("*.toml")), ids=lambda p: p.stem)
def test_contract_every_reference_value_has_its_source(path: Path) -> None:
    assert published(path.stem)


def test_contract_a_value_without_source_is_refused(tmp_path: Path) -> None:
    (tmp_path / "bad.toml").write_text(
        'title = "x"\n[a]\nvalue = 1\nunit = "m"\nwhere = "p. 1"\nchecked = "no"\n'
    )
    with pytest.raises(ValueError, match=r"\[a\] lacks source"):
        published("bad", tmp_path)
