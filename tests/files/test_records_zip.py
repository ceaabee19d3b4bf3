"""The zip of all records: rows one by one, members counted, nothing returned more than once."""

from __future__ import annotations

import io
import json
import zipfile
from collections.abc import Iterator
from hashlib import sha256
from itertools import pairwise
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from amount import examples
from coldfield.errors import BadInput
from coldfield.files import records_zip
from coldfield.files.json_text import each_value
from coldfield.files.records_zip import FORMAT, MOST_ENTRY, ArchiveReader, ArchiveWriter
from coldfield.message import message

JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False, allow_infinity=False) | st.text(),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=5), inner, max_size=4),
    max_leaves=12,
)


def test_regression_a_number_may_be_cut_anywhere() -> None:
    text = "[[], -0.0, 1e5, 12, -3.25E+2]"
    for cut in range(len(text) + 1):
        for again in range(cut, len(text) + 1):
            pieces = [text[:cut], text[cut:again], text[again:]]
            assert list(each_value(pieces, "list")) == json.loads(text)


@given(rows=st.lists(JSON, max_size=8), cuts=st.lists(st.integers(0, 400), max_size=8), indent=st.booleans())
def test_independent_route_rows_are_those_the_standard_library_reads(rows, cuts, indent) -> None:
    text = json.dumps(rows, indent=2 if indent else None, ensure_ascii=False)
    at = [0, *sorted(cut for cut in cuts if cut < len(text)), len(text)]
    pieces = [text[a:b] for a, b in pairwise(at)]
    assert list(each_value(pieces, "list")) == json.loads(text)


@given(text=st.text(st.sampled_from('[]{},:"1-e.n \n'), max_size=20), cut=st.integers(0, 20))
@examples(300)
def test_independent_route_what_the_standard_library_refuses_is_refused(text: str, cut: int) -> None:
    try:
        value = json.loads(text)
    except ValueError:
        value = None
    if isinstance(value, list):
        assert list(each_value([text[:cut], text[cut:]], "list")) == value
        return
    with pytest.raises(BadInput, match=r"."):
        list(each_value([text[:cut], text[cut:]], "list"))


@pytest.mark.parametrize("text", ["[NaN]", "[1] 2", "[1,]", "{}", "", "[" + '"' + "a" * (MOST_ENTRY + 10)])
def test_contract_what_is_no_list_of_rows_is_refused(text: str) -> None:
    pieces = (text[i : i + 100_000] for i in range(0, len(text), 100_000))
    with pytest.raises(BadInput, match=r"."):
        list(each_value(pieces, "list", most_letters=MOST_ENTRY))


def archive(members: dict[str, bytes], **told: Any) -> io.BytesIO:
    file = io.BytesIO()
    writer = ArchiveWriter(file)
    for name, data in members.items():
        writer.add(name, data)
    writer.close(told)
    return file


def test_contract_a_list_comes_row_by_row_and_an_altered_one_is_told_at_its_end() -> None:
    rows = [{"id": str(i), "n": i} for i in range(3000)]
    file = archive({"records/runs.json": records_zip.json_bytes(rows)})
    assert list(ArchiveReader(file, "a.zip").each("records/runs.json")) == rows
    with zipfile.ZipFile(file) as whole:
        manifest = whole.read("manifest.json")
    altered = io.BytesIO()
    with zipfile.ZipFile(altered, "w") as out:
        out.writestr("records/runs.json", records_zip.json_bytes(rows[:-1]))
        out.writestr("manifest.json", manifest)
    with pytest.raises(BadInput, match="does not match the manifest"):
        list(ArchiveReader(altered, "a.zip").each("records/runs.json"))


def test_contract_a_member_named_again_and_again_is_refused() -> None:
    reader = ArchiveReader(archive({"debriefs/d.json": b"{}"}), "a.zip")
    for _ in range(records_zip.MOST_TIMES):
        assert reader.read_json("debriefs/d.json") == {}
    with pytest.raises(BadInput, match=r"debriefs/d\.json: is named by several records"):
        reader.read_json("debriefs/d.json")


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"[" + b"[]," * 1_000_000 + b"0]", "has more than 2,000,000 values"),
        (b" " * 64_000_001 + b"0", "unpacks to more than 64 MB"),
        (b"[" * 5000, "is nested too deeply"),
        (b"[NaN]", "NaN is not a number"),
        (b'"\xff"', "is not UTF-8"),
        (b"1" * 5000, None),
    ],
)
def test_contract_a_document_is_counted_before_it_is_built(data: bytes, words: str | None) -> None:
    reader = ArchiveReader(archive({"debriefs/d.json": data}), "a.zip")
    if words is None:
        assert reader.read_json("debriefs/d.json") == float("inf")
        return
    with pytest.raises(BadInput, match=words) as caught:
        reader.read_json("debriefs/d.json")
    assert caught.value.lines()[0].startswith("a.zip: debriefs/d.json: ")


@pytest.mark.parametrize("method", [zipfile.ZIP_LZMA, zipfile.ZIP_BZIP2])
def test_contract_other_ways_of_packing_are_refused_before_they_unpack(method: int) -> None:
    data = b"[]"
    manifest = {"format": FORMAT, "sha256": {"records/runs.json": sha256(data).hexdigest()}}
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w") as out:
        out.writestr("manifest.json", json.dumps(manifest))
        out.writestr("records/runs.json", data, compress_type=method)
    with pytest.raises(BadInput, match="save it as an ordinary zip"):
        ArchiveReader(file, "a.zip").read("records/runs.json")


def test_contract_a_directory_of_too_many_members_is_not_listed(monkeypatch) -> None:
    monkeypatch.setattr(records_zip, "MOST_MEMBERS", 50)
    file = archive({f"tracks/{i}.gpx": b"" for i in range(60)})
    monkeypatch.setattr(zipfile, "ZipFile", None)  # it would list all members
    with pytest.raises(BadInput, match="has 61 files; at most 50 are read"):
        ArchiveReader(file, "a.zip")


def test_contract_a_fault_of_who_gives_a_text_is_not_taken_for_one_of_the_text() -> None:
    def pieces() -> Iterator[str]:
        yield "[1, "
        raise BadInput(message("fault.locked").at("people.json"), "a.zip")

    with pytest.raises(BadInput) as caught:
        list(each_value(pieces(), "a.zip: people.json"))
    assert caught.value.lines() == ("a.zip: people.json: is locked with a password; unlock it first",)
    with pytest.raises(BadInput, match=r"^a\.zip: is not a JSON list: the key 'a' is used twice"):
        list(each_value(iter(['[{"a": 1, "a": 2}]']), "a.zip"))
