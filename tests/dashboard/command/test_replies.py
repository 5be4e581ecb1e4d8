"""What the commands print of lots and signals, for programs and for people."""

from dashboard.command import replies
from spc.answers.review import review_lots
from spc.charts import RULES
from tests.dashboard.programs import read_back


def test_a_program_gets_every_waiting_lot_with_its_verdict(demo_store):
    waiting = demo_store.lots(waiting=True)

    told = read_back(replies.review_json(review_lots(demo_store)))

    assert [one["lot"] for one in told] == waiting["lot"].tolist()
    assert [one["waiting_days"] for one in told] == sorted(
        (one["waiting_days"] for one in told), reverse=True
    )
    lines = [line for one in told for line in one["lines"]]
    assert {tuple(line["probability"]) for line in lines if line["outcome"] == "no result"} == {
        (None, None)
    }


def test_a_program_gets_every_signal_with_its_basis_and_rule(demo_survey):
    told = read_back(replies.sweep_json(demo_survey))

    assert told["points"] == len(demo_survey.points)
    assert told["streams"] == demo_survey.points["stream"].nunique()
    assert len(told["signals"]) == int(demo_survey.marks.sum())
    for signal in told["signals"]:
        low, high = signal["usual"]
        assert low < high
        assert signal["sentence"] == RULES[signal["rule"]].sentence
        assert "basis" in signal


def test_a_store_without_results_is_swept_too(charted):
    survey = charted({"values": [4e4]})

    assert read_back(replies.sweep_json(survey))["signals"] == []
    assert replies.signals_table(survey).columns.tolist() == [
        *("lot", "received", "material", "supplier", "what", "value", "signal")
    ]


def test_signals_are_listed_newest_first(demo_survey):
    table = replies.signals_table(demo_survey)

    assert table["received"].is_monotonic_decreasing
    assert table["signal"].isin(list(RULES)).all()
