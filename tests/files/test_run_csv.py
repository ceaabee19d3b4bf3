import pytest
from hypothesis import given
from hypothesis import strategies as st

from amount import examples
from coldfield.drill.run import Split, Splits
from coldfield.errors import BadInput
from coldfield.files.run_csv import read_splits, write_splits

RUN = """time,searcher,burial,split,note
2026-02-14T10:31:05+01:00,,,alarm,
2026-02-14T10:33:10+01:00,s1,A,probe_strike,
2026-02-14T10:32:00+01:00,,,observation,"leader named, phones away"
"""


def test_contract_rows_come_in_order_of_time_with_zone() -> None:
    splits = read_splits(RUN)
    assert [row.split for row in splits.rows] == ["alarm", "observation", "probe_strike"]
    # 10:31:05 in a zone one hour east of Greenwich is 09:31:05 UTC.
    assert splits.alarm_unix_s() == 1771061465.0
    assert splits.rows[1].note == "leader named, phones away"


def test_contract_seconds_from_the_alarm_and_semicolons() -> None:
    splits = read_splits("t_s;split;burial\n130.5;probe_strike;A\n0;alarm;\n")
    assert [(row.since_alarm_s, row.split) for row in splits.rows] == [
        (0.0, "alarm"),
        (130.5, "probe_strike"),
    ]


@pytest.mark.parametrize(
    "text",
    [
        "t_s;split;burial\n260,5;Probe strike;A\n0;Alarm;\n",
        "t_s\tsplit\tburial\n4:20.5\tprobe-strike\tA\n0:00\talarm\t\n",
        "t_s;split;burial\n0:04:20,5;PROBE_STRIKE;A\n0;alarm;\n",
        "t_s,split,burial\n4:20.5,probe strike,A\n0,alarm,\n",
    ],
)
def test_contract_times_and_names_as_people_and_spreadsheets_write_them(text: str) -> None:
    assert [(row.since_alarm_s, row.split) for row in read_splits(text).rows] == [
        (0.0, "alarm"),
        (260.5, "probe_strike"),
    ]


@pytest.mark.parametrize(
    ("written", "seconds"), [("-0:30", -30.0), ("\u22120:30", -30.0), ("75:10", 4510.0), ("1:15:10", 4510.0)]
)
def test_contract_minutes_and_seconds_from_the_alarm(written: str, seconds: float) -> None:
    assert read_splits(f"t_s,split\n{written},left the rope\n").rows[0].since_alarm_s == seconds


@pytest.mark.parametrize("written", ["4:60", "4:2", ":20", "1:2:3", "4:20:99", "1,5", "4:-20", "99:99:99"])
def test_contract_what_is_no_time_is_refused(written: str) -> None:
    with pytest.raises(BadInput, match=r"line 2: t_s: '.*' is not a number of seconds \(or 4:20\)"):
        read_splits(f't_s,split\n"{written}",alarm\n')


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("", "is empty"),
        ("time,split\n10:31,alarm\n", "line 2: time: '10:31' is not ISO 8601"),
        ("time,split\n2026-02-14T10:31:05,alarm\n", "line 2: time: '2026-02-14T10:31:05' has no zone"),
        ("time,what\n", "'what' is not a column"),
        ("t_s,split\nnan,alarm\n", "line 2: t_s: 'nan' is not a number"),
        ("t_s,split\n1,observation\n", "the column"),
        ("t_s,split,note\n1,observation,\n", "line 2: note: is empty"),
        ("time,t_s,split\n2026-02-14T10:31:05Z,,probe_strike\n,4,alarm\n", "some rows have time, others t_s"),
        ("t_s,split\n1,a,b\n", "line 2: has 3 cells for 2 columns"),
    ],
)
def test_contract_faults_name_their_line(text: str, line: str) -> None:
    if line == "the column":
        line = "note: is empty"
    with pytest.raises(BadInput) as caught:
        read_splits(text, "splits.csv")
    assert any(line in fault for fault in caught.value.texts()), caught.value.texts()


@given(
    st.lists(
        st.builds(
            Split,
            split=st.sampled_from(["probe_strike", "airway_clear", "left the rope"]),
            searcher=st.sampled_from([None, "s1"]),
            burial=st.sampled_from([None, "A"]),
            since_alarm_s=st.floats(-3600, 3600),
            note=st.text(st.characters(categories=("L", "N", "P", "Zs")), max_size=20).map(str.strip),
        ),
        min_size=1,
        max_size=8,
    )
)
@examples(50)
def test_property_written_splits_are_read_back(rows: list[Split]) -> None:
    ordered = Splits(rows=tuple(sorted(rows, key=lambda row: row.since_alarm_s or 0.0)))
    assert read_splits(write_splits(ordered)) == ordered


@given(st.text(max_size=200))
@examples(60)
def test_property_any_text_is_read_or_refused(text: str) -> None:
    try:
        read_splits(text)
    except BadInput as error:
        assert error.texts()
