"""The Methods screen, run without a browser: every part of it for every method of the demo."""

import pytest

from dashboard.frame import approval_words
from dashboard.methods.sections import SECTIONS
from spc.store.approving.asking import Approving
from tests.dashboard.screen import field, opened, words

METHODS = [
    ("heat", "rapid sensor"),
    ("heat", "liquid chromatography"),
    ("moisture", "moisture balance"),
    ("aflatoxin B1", "liquid chromatography"),
    ("Salmonella", "culture"),
]


def parts(app):
    """The choice of the part to look at."""
    (found,) = [one for one in app.get("button_group") if one.label == "Look at"]
    return found


@pytest.mark.usefixtures("demo_screens")
@pytest.mark.parametrize(("characteristic", "method"), METHODS)
def test_every_part_says_something_of_every_method_and_raises_nothing(characteristic, method):
    app = opened("methods", characteristic=characteristic, method=method)
    for section in SECTIONS:
        parts(app).set_value(section)
        app.run()

        assert app.session_state["section"] == section
        assert not app.exception, section
        assert not app.error, section
        assert words(app)


@pytest.mark.usefixtures("demo_screens")
def test_the_first_line_says_how_far_off_how_repeatable_and_what_signals():
    said = opened("methods").markdown[0].value

    assert "Rapid sensor reads" in said
    assert "below liquid chromatography" in said
    assert "stated is 5.0 %" in said
    assert "Off by its control sample: S26-03 on Reader A and Reader B." in said
    assert "No correction is in force." in said


@pytest.mark.usefixtures("demo_screens")
def test_the_batch_that_is_off_leads_to_the_lots_measured_with_it():
    app = opened("methods", section="control samples")
    lots = next(one.value for one in app.dataframe if "readings with it" in one.value)

    assert "S26-03" in field(app, "selectbox", "Sensor batch").value
    assert lots["lot"].str.startswith("/lot?lot=R26-").all()
    assert set(lots["decision"]) <= {"accepted", "rejected", "waiting", "on hold"}


@pytest.mark.usefixtures("demo_screens")
def test_two_laboratories_stand_out_and_are_left_out_only_with_a_reason():
    app = opened("methods", method="liquid chromatography", section="laboratories")
    assert "Laboratory 6 lies away from the others at RT-hot" in words(app)
    assert "Laboratory 3 scatters more than the others at RT-mild" in words(app)

    field(app, "multiselect", "Laboratories").set_value(["Laboratory 3"]).run()
    assert "Nobody is left out without a reason." in words(app)
    assert "Laboratory 3 scatters" in words(app)

    field(app, "text_input", "Why they are left out").set_value("column was changed").run()
    assert "Left out: Laboratory 3 (column was changed)." in words(app)
    assert "Laboratory 3 scatters" not in words(app)


def adopted_by_the_only_person(store):
    """Press adopt at what waits, and sign what the screen asks for."""
    app = opened("methods", section="corrections")
    field(app, "text_area", approval_words.REASON).set_value("seen on every waiting lot")
    field(
        app, "button", f"Adopt version {store.approvals.proposals()[0].key.version}"
    ).click().run()
    asked = store.signing.about(store.approvals.proposals()[0].subject)[-1]
    store.signing.sign(asked.request, by=store.people.system_user())
    return opened("methods", section="corrections")


def test_a_correction_is_proposed_with_a_receipt_adopted_and_withdrawn_by_the_next_version(
    writable_screens,
):
    app = opened("methods", section="another method", of="chilli flakes")
    assert "If it were in force for the" in words(app)
    changed = next(one.value for one in app.dataframe if "value then" in one.value)
    assert (changed["value now"] != changed["value then"]).all()
    field(app, "text_input", "Reason").set_value("reads low over 29 lots")
    app = field(app, "button", "Propose version 1").click().run()

    assert "Proposed: correction 1 of rapid sensor for chilli flakes" in words(app)
    assert writable_screens.catalogue().corrections == ()
    assert "correction-1" in writable_screens.receipts()["name"].iloc[0]

    app = adopted_by_the_only_person(writable_screens)

    (adopted,) = writable_screens.catalogue().corrections
    assert (adopted.kind, adopted.reason) == ("ratio", "seen on every waiting lot")
    assert adopted.effective_from == writable_screens.today()

    field(app, "text_input", "Reason").set_value("the lamp was changed")
    app = field(app, "button", "Propose the withdrawal").click().run()
    assert "In force: correction 1" in words(app)
    app = adopted_by_the_only_person(writable_screens)

    assert not app.exception
    assert "No correction is in force." in words(app)
    assert [one.slope for one in writable_screens.catalogue().corrections][-1] == 1.0


def test_figures_of_a_study_become_the_next_version_of_the_method(writable_screens):
    before = writable_screens.catalogue().method("liquid chromatography", "heat")
    app = opened("methods", method="liquid chromatography", section="laboratories")
    field(app, "multiselect", "Laboratories").set_value(["Laboratory 3"])
    field(app, "text_input", "Why they are left out").set_value("column was changed").run()
    field(app, "text_input", "Reason for the change").set_value("comparison of May 2026.")
    app = field(app, "button", "Propose version 2").click().run()
    assert writable_screens.catalogue().method("liquid chromatography", "heat") == before
    (waits,) = writable_screens.approvals.proposals()
    seen = writable_screens.approvals.look(waits.key).effect.fingerprint
    wanted = Approving(key=waits.key, seen=seen, reason="comparison of May 2026")
    writable_screens.approvals.approve(wanted, by=writable_screens.people.system_user())

    stated = writable_screens.catalogue().method("liquid chromatography", "heat")
    assert stated.repeatability != before.repeatability
    versions = writable_screens.compare.method_versions("heat", "liquid chromatography")
    assert versions["version"].tolist() == [1, 2]
    app = opened("methods", method="liquid chromatography", section="stated figures")
    assert app.dataframe[0].value["reason"].iloc[0] == (
        "comparison of May 2026. Left out: Laboratory 3 (column was changed)."
    )
