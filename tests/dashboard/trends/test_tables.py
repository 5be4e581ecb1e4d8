"""The lots of a stream, its signals and its baselines, as people read them."""

from dashboard.frame import stream_tables
from dashboard.trends.tables import baselines_table, signals_in_words, stream_table, timeline_frames
from spc.digits import THIN
from spc.store import Choice, StreamKey
from tests.dashboard.streams import DRY
from tests.staff import ME, MY_NAME


def test_censored_lots_are_marked_by_the_side_on_which_the_truth_lies(charted):
    survey = charted({"values": [3.9e4, 4.1e4, 4e4, 4.2e4], "censored": [0, 1, -1, 2]})

    frame = stream_tables.stream_frame(survey.points, survey.signals(), line=None)
    table = stream_table(survey.points, survey.signals())

    assert frame["censored"].tolist() == ["", "above", "below", "between"]
    assert table["value (SHU)"].tolist() == [
        *(f"about 42{THIN}000", f"below 40{THIN}000", f"above 41{THIN}000", f"39{THIN}000")
    ]


def test_the_lots_of_a_stream_are_listed_newest_first_with_their_signals(drifting):
    points, signals = drifting

    table = stream_table(points, signals)

    assert table["lot"].tolist() == points["lot"].tolist()[::-1]
    assert set(table.loc[table["signal"] != "", "lot"]) == set(signals["lot"])
    assert table["samples"].dtype.kind == "i"


def test_a_stream_without_a_signal_has_an_empty_table_of_them(charted):
    survey = charted({"values": [4e4]})

    table = signals_in_words(survey.signals())

    assert table.empty
    assert "source of the rule" in table.columns


def test_every_signal_is_explained_with_its_source(drifting):
    _, signals = drifting

    table = signals_in_words(signals)

    assert len(table) == len(signals)
    assert table["source of the rule"].ne("").all()


def test_two_bases_of_one_characteristic_are_two_streams(charted):
    survey = charted(
        {"values": [4e4, 4.1e4], "supplier": "North Mill"},
        {"values": [4.4e4, 4.5e4, 4.6e4], "supplier": "North Mill", "basis": "dry", "days": 20},
    )
    as_is = StreamKey(
        **{name: getattr(DRY, name) for name in DRY.__dataclass_fields__ if name != "basis"}
    )

    frames = timeline_frames(survey, [as_is, DRY])

    assert [len(frame) for frame in frames.values()] == [2, 3]
    assert {len(frame) for frame in map(set, (f["until"] for f in frames.values()))} == {1}
    assert frames[as_is]["until"].iloc[0] == frames[DRY]["at"].iloc[-1]
    assert frames[DRY]["since"].iloc[0] == survey.points["received_at"].min()


def test_versions_of_a_baseline_say_who_left_out_what_and_why(small_store):
    choice = Choice(
        lots=("L-1", "L-2"),
        left_out={"L-3": "wet bags"},
        kind="prediction",
        rules=("beyond limits", "eight on one side"),
    )
    small_store.freeze_baseline(DRY, choice, by=ME, reason="first crop")

    (row,) = baselines_table(small_store.baselines(DRY)).to_dict("records")

    assert (row["version"], row["lots"]) == (1, 2)
    assert row["left out"] == "L-3 (wet bags)"
    assert row["judges from"] == "the first lot"
    assert row["limits by"] == "prediction (few lots)"
    assert row["rules"] == "beyond limits, eight on one side"
    assert (row["frozen by"], row["reason"]) == (MY_NAME, "first crop")
