"""Every screen, run without a browser: it answers in words and never with an exception."""

from pathlib import Path

import pytest

import demo_data
from dashboard.frame import markup, session
from dashboard.trends import words as trends_words
from spc.answers.streams import VIEWS
from spc.store import Store, StreamKey
from tests.dashboard.screen import SCREENS, field, opened, words

NEW = Path(demo_data.__file__).parent / "new" / "2026-11-20_sensor.csv"
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


@pytest.fixture
def demo_screens(demo_store):
    session.hold(demo_store)
    yield demo_store
    session.hold(demo_store)


@pytest.fixture
def writable_screens(writable_demo):
    session.hold(writable_demo)
    return writable_demo


@pytest.fixture
def empty_screens(tmp_path):
    with Store.open(tmp_path / "empty.duckdb") as store:
        session.hold(store)
        yield store


def drop(app, name, content):
    (place,) = [one for one in app.get("file_uploader") if one.accept_multiple_files]
    return place.set_value([(name, content, "text/csv")]).run()


@pytest.mark.usefixtures("demo_screens")
@pytest.mark.parametrize("screen", sorted(SCREENS))
def test_a_screen_of_the_demo_raises_nothing(screen):
    app = opened(screen, lot="R26-0140")

    assert not app.exception
    assert not app.error


@pytest.mark.usefixtures("empty_screens")
@pytest.mark.parametrize("screen", sorted(SCREENS))
def test_a_screen_of_an_empty_store_says_what_to_do(screen):
    app = opened(screen)

    assert not app.exception
    assert not app.error
    assert "receive" in words(app).casefold() or app.get("page_link")


@pytest.mark.usefixtures("demo_screens")
def test_today_says_what_waits_and_why():
    said = words(opened("today"))

    assert "17 lots wait for a decision" in said
    assert "1 should be rejected" in said
    assert "aflatoxin B1 9.8 µg/kg by liquid chromatography does not conform" in said
    assert "No number of further samples would settle it" in said
    assert "a dilution that cannot be right" in said
    assert "six rising or falling" in said


@pytest.mark.usefixtures("demo_screens")
def test_a_lot_shows_its_verdict_its_flags_and_what_intake_holds():
    said = words(opened("lot", lot="R26-0143"))

    assert "Lot R26-0143" in said
    assert "No result that may decide yet for heat" in said
    assert "rows held at intake" in said
    assert "Dunmarsh" not in said


@pytest.mark.usefixtures("demo_screens")
def test_a_number_opens_down_to_its_row_and_file():
    app = opened("lot", lot="R26-0140")
    chooser = next(one for one in app.selectbox if one.label == "Open a number")

    chooser.select(next(one for one in chooser.options if one.startswith("heat by rapid"))).run()

    said = words(app)
    assert "of 2026-11_sensor.csv, brought by" in said
    assert "Strip batch" in said
    steps = [frame.value for frame in app.dataframe if "step" in frame.value.columns]
    assert steps[0]["step"].tolist() == [
        "reading",
        "in the cell",
        "in the extract",
        "content",
        "heat",
    ]


@pytest.mark.usefixtures("demo_screens")
def test_an_unknown_lot_is_an_error_in_words():
    app = opened("lot", lot="R99-1")

    assert not app.exception
    assert "There is no lot 'R99-1' in the store." in words(app)


@pytest.mark.usefixtures("demo_screens")
def test_a_decision_without_a_reason_is_refused_on_the_screen():
    app = opened("lot", lot="R26-0141")
    next(one for one in app.radio if one.label == "Decision").set_value("accepted")
    field(app, "text_input", "Your name", "decision").set_value("Test Officer")

    field(app, "button", "Sign").click().run()

    assert "the decision has no reason" in words(app)


def test_texts_of_a_file_cannot_become_markup():
    assert "<script>" not in markup.original({"Lot": "<script>alert(1)</script>"})


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
    assert trends_words.VIEW_SENTENCES[view] in words(app)
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
    field(app, "text_input", "Your name", "investigation").set_value("Test Officer")

    field(app, "button", "Note it").click().run()

    said = words(app)
    assert "The signal at R26-0146 is being looked into." in said
    assert "new mill screen; asked the supplier. Opened by Test Officer on" in said
    assert "<b>open</b>" in said

    field(app, "text_input", "How it ended").set_value("screen replaced")
    field(app, "text_input", "Your name", "conclusion").set_value("Test Officer")
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
    field(app, "text_input", "Your name", "baseline").set_value("Test Officer")
    field(app, "text_input", "Reason for this baseline").set_value("three crops")

    field(app, "button", "Freeze").click().run()

    said = words(app)
    assert not app.exception
    assert "Baseline 1 of 32 lots is frozen." in said
    assert "by the frozen baseline of 32 lots" in said
    assert "provisional" not in said
    assert "Nobody has frozen a baseline" not in said
    (version,) = writable_screens.baselines(StreamKey(**DRIFTING)).to_dict("records")
    assert version["frozen_by"] == "Test Officer"
    assert writable_screens.verify().ok


@pytest.mark.usefixtures("demo_screens")
def test_a_baseline_without_a_name_is_refused_on_the_screen():
    app = opened("trends", **DRIFTING)

    field(app, "button", "Freeze").click().run()

    assert not app.exception
    assert "a name, a reason, and a reason for each lot left out are needed." in words(app)
    assert "provisional" in words(app)


# Intake


def test_a_dropped_file_is_previewed_and_then_taken_in(writable_screens):
    app = drop(opened("intake"), NEW.name, NEW.read_bytes())

    said = words(app)
    assert "45 rows = 43 stored + 2 held + 0 known" in said
    assert "Nothing is stored yet." in said
    assert NEW.name not in writable_screens.receipts()["name"].tolist()

    (by,) = [one for one in app.text_input if one.key == "received-by"]
    by.set_value("Test Officer")
    field(app, "button", "Take in").click().run()

    said = words(app)
    assert not app.exception
    assert "45 rows = 43 stored + 2 held + 0 known" in said
    assert "Nothing is stored yet." not in said
    newest = writable_screens.receipts().iloc[0]
    assert (newest["name"], newest["received_by"]) == (NEW.name, "Test Officer")


@pytest.mark.usefixtures("demo_screens")
def test_a_file_that_nobody_signs_for_is_not_taken_in():
    app = drop(opened("intake"), NEW.name, NEW.read_bytes())

    field(app, "button", "Take in").click().run()

    assert not app.exception
    assert "Say who brings the files" in words(app)


@pytest.mark.usefixtures("demo_screens")
def test_a_file_that_no_profile_fits_says_why():
    app = drop(opened("intake"), "strange.csv", b"a,b\n1,2\n")

    assert not app.exception
    assert "no source profile fits its columns" in words(app)


def test_a_refused_file_is_told_after_it_was_taken_in(writable_screens):
    app = drop(opened("intake"), "strange.csv", b"a,b\n1,2\n")
    (by,) = [one for one in app.text_input if one.key == "received-by"]
    by.set_value("Test Officer")

    field(app, "button", "Take in").click().run()

    assert not app.exception
    assert "strange.csv was refused: " in words(app)
    assert "strange.csv" not in writable_screens.receipts()["name"].tolist()


def held_form(app):
    """The first form about held rows: its name, and how many rows it is about."""
    dismiss = next(one for one in app.button if one.label.startswith("Dismiss these "))
    return dismiss.form_id, dismiss


def test_held_rows_are_not_dismissed_without_a_reason(writable_screens):
    before = len(writable_screens.held())
    app = opened("intake")
    form, dismiss = held_form(app)
    field(app, "text_input", "Your name", form).set_value("Test Officer")

    dismiss.click().run()

    assert not app.exception
    assert len(app.error) == 1
    assert len(writable_screens.held()) == before


def test_held_rows_are_dismissed_with_a_name_and_a_reason(writable_screens):
    before = len(writable_screens.held())
    app = opened("intake")
    form, dismiss = held_form(app)
    rows = int(dismiss.label.split()[-1])
    field(app, "text_input", "Your name", form).set_value("Test Officer")
    field(app, "text_input", "Reason, if you dismiss them", form).set_value("typing errors")

    dismiss.click().run()

    assert not app.exception
    assert "dismissed by Test Officer" in words(app)
    assert len(writable_screens.held()) == before - rows


def test_checking_a_file_again_reports_what_became_of_its_rows(writable_screens):
    app = opened("intake")
    form, _ = held_form(app)
    field(app, "text_input", "Your name", form).set_value("Test Officer")

    field(app, "button", "Check the file again", form).click().run()

    assert not app.exception
    assert "checked again: of " in words(app)
    assert writable_screens.verify().ok


@pytest.mark.usefixtures("demo_screens")
@pytest.mark.parametrize(
    ("convention", "said"),
    [
        ("EU mycotoxins", "Draw 40 increments of 100 g"),
        ("square root", "Draw 10 increments"),
        ("square root, arbitration", "Draw 10 increments"),
        ("variables plan", "packages singly; accept if the mean lies at least"),
        ("bulk plan", "accept if the average is at least"),
    ],
)
def test_a_lot_s_dossier_says_how_to_sample_it_by_each_convention(convention, said):
    app = opened("lot", lot="R26-0139")

    next(one for one in app.selectbox if one.label == "Convention").select(convention).run()

    assert not app.exception
    assert said in words(app)
