"""A zip whose member has no name, as a damaged one may have."""

from __future__ import annotations

import io
import zipfile

from coldfield.files.track_zip import _entries


def test_regression_a_member_of_no_name_does_not_break_the_reader() -> None:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        archive.writestr("a.gpx", "not a track")
        archive.writestr("folder/", "")
    with zipfile.ZipFile(out) as archive:
        archive.infolist()[0].filename = ""
        assert [entry.filename for entry in _entries(archive)] == [""]
