"""Trends, run without a browser: every view, signals looked into, a baseline frozen."""

import pytest

from dashboard.frame import session
from dashboard.trends.words import VIEW_SENTENCES
from spc.answers.streams import VIEWS
from spc.store import StreamKey
from tests.dashboard.screen import field, opened, words
from tests.staff import MY_NAME

DRIFTING = {
    "material": "cayenne powder",
    "supplier": "North Fen Spices",
    "characteristic": "heat",
    "method": "rapid sensor",
}
# Six lots, of which three are known as bounds only: nothing says yet what is usual.
WITHOUT_LIMITS = {
    **DRIFTING,
    "material": "capsicum oleoresin",
    "supplier": "Copperfen Peppers",
}


@pytest.mark.usefixtures("demo_screens")
def test_a_trend_is_told_in_a_sentence_with_what_it_rests_on():
    app = opened(
        "trends",
        material="cayenne powder",
        supplier="North Fen Spices",
        characteristic="heat",
        method="rapid sensor",
    )

    said = words(app)
    assert "The newest lot, R26-0146, is unusual" in said
    assert "by a provisional baseline of 24 lots" in said
    assert len(app.get("vega_lite_chart")) == 1


# Ways of looking at a stream


@pytest.mark.usefixtures("demo_screens")
@pytest.mark.parametrize("view", VIEWS)
def test_every_way_of_looking_can_be_reached_by_its_address(view):
    app = opened("trends", **DRIFTING, view=view)

    assert not app.exception
    assert not app.error
    assert VIEW_SENTENCES[view] in words(app)
    assert len(app.get("vega_lite_chart")) == 1
    assert ("false alarm" in words(app)) == (view == "lot values")


@pytest.mark.usefixtures("demo_screens")
@pytest.mark.parametrize("view", VIEWS)
def test_a_stream_of_which_too_little_is_known_says_so_and_draws_nothing_empty(view):
    app = opened("trends", **WITHOUT_LIMITS, view=view)

    said = words(app)
    assert not app.exception
    assert not app.error
    assert {
        "lot values": "too few, or too alike, to say what is usual",
        "weighted average": "Nothing says yet what is usual here",
        "running sums": "Nothing says yet what is usual here",
        "spread within lots": "How much the samples of one lot differ",
        "scores without a baseline": "Each lot is compared with the lots before it only",
        "all characteristics together": "Fewer than two characteristics were measured",
    }[view] in said
    alone = ("lot values", "spread within lots", "scores without a baseline")
    drawn = 1 if view in alone else 0
    assert len(app.get("vega_lite_chart")) == drawn


@pytest.mark.parametrize("view", VIEWS)
def test_a_stream_of_one_lot_can_be_looked_at_in_every_way(small_store, view):
    session.hold(small_store)

    app = opened("trends", view=view)

    assert not app.exception
    assert not app.error


@pytest.mark.usefixtures("demo_screens")
@pytest.mark.parametrize(
    "odd",
    [
        {"material": "no such powder"},
        {**DRIFTING, "supplier": "<script>"},
        {**DRIFTING, "method": "divination"},
        {**DRIFTING, "basis": "wet"},
        {**DRIFTING, "view": "sideways"},
        {**DRIFTING, "beside": "nothing"},
    ],
    ids=["material", "supplier", "method", "basis", "view", "beside"],
)
def test_an_odd_address_falls_back_to_the_first_choice(odd):
    app = opened("trends", **odd)

    assert not app.exception
    assert not app.error
    assert field(app, "selectbox", "Material").value in {"cayenne powder", "capsicum oleoresin"}
    assert "lots" in words(app)


@pytest.mark.usefixtures("demo_screens")
def test_each_stream_compared_with_stands_in_a_figure_of_its_own():
    app = opened("trends", **DRIFTING)
    alone = len(app.get("vega_lite_chart"))
    others = field(app, "multiselect", "Compare with")
    assert all(", heat, " in name for name in others.options), "only the same can be compared"

    one = len(others.select(others.options[0]).run().get("vega_lite_chart"))
    again = field(app, "multiselect", "Compare with")
    two = len(again.select(again.options[1]).run().get("vega_lite_chart"))

    assert not app.exception
    assert (one - alone, two - one) == (2, 1), "the stream itself, and one for each other"


# Looking into a signal


def test_a_signal_is_looked_into_and_the_investigation_closed(writable_screens):
    app = opened("trends", **DRIFTING)
    assert "No signal of this stream has been looked into yet." in words(app)
    field(app, "text_input", "Cause, as far as it is known").set_value("new mill screen")
    field(app, "text_input", "What is done about it").set_value("asked the supplier")

    field(app, "button", "Note it").click().run()

    said = words(app)
    assert "The signal at R26-0146 is being looked into." in said
    assert f"new mill screen; asked the supplier. Opened by {MY_NAME} on" in said
    assert "<b>open</b>" in said

    field(app, "text_input", "How it ended").set_value("screen replaced")
    field(app, "button", "Close it").click().run()

    said = words(app)
    assert not app.exception
    assert "The investigation is closed." in said
    assert ": screen replaced." in said
    assert "<b>open</b>" not in said
    (kept,) = writable_screens.investigations(StreamKey(**DRIFTING)).to_dict("records")
    assert (kept["lot"], kept["conclusion"]) == ("R26-0146", "screen replaced")
    assert writable_screens.verify().ok


@pytest.mark.usefixtures("demo_screens")
def test_an_investigation_without_a_cause_is_refused_on_the_screen():
    app = opened("trends", **DRIFTING)

    field(app, "button", "Note it").click().run()

    assert not app.exception
    assert len(app.error) == 1
    assert "investigation" in app.error[0].value


# Freezing a baseline


def test_a_frozen_baseline_is_no_longer_provisional(writable_screens):
    app = opened("trends", **DRIFTING)
    assert "by a provisional baseline of 24 lots" in words(app)
    field(app, "multiselect", "Leave out", "baseline").select("R26-0146")
    field(app, "text_input", "Why they are left out").set_value("after the drift")
    field(app, "text_input", "Reason for this baseline").set_value("three crops")

    field(app, "button", "Freeze").click().run()

    said = words(app)
    assert not app.exception
    assert "Baseline 1 of 32 lots is frozen." in said
    assert "by the frozen baseline of 32 lots" in said
    assert "provisional" not in said
    assert "Nobody has frozen a baseline" not in said
    (version,) = writable_screens.baselines(StreamKey(**DRIFTING)).to_dict("records")
    assert version["frozen_by"] == MY_NAME
    assert writable_screens.verify().ok


@pytest.mark.usefixtures("demo_screens")
def test_a_baseline_without_a_reason_is_refused_on_the_screen():
    app = opened("trends", **DRIFTING)

    field(app, "button", "Freeze").click().run()

    assert not app.exception
    assert "a reason, and a reason for each lot left out, are needed." in words(app)
    assert "provisional" in words(app)
