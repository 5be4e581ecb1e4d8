"""A lot's dossier, run without a browser."""

import pytest

from tests.dashboard.screen import field, opened, words


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

    app.run()
    field(app, "text_area", "Reason").set_value(".")

    field(app, "button", "Accept…").click().run()

    assert "the signature has no reason" in words(app)
    assert field(app, "text_area", "Reason").value == "."


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


def test_a_routine_lot_is_one_click_and_waits_for_the_confirmation(writable_screens):
    app = opened("lot", lot="R26-0138")

    field(app, "button", "Accept…").click().run()

    assert not app.exception
    (request,) = writable_screens.signing.about("R26-0138")
    assert (request.deed, request.reason, request.state) == ("accept a lot", "conforms", "open")
    assert writable_screens.dispositions("R26-0138").empty
