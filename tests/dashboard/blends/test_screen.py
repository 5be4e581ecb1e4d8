"""The blends screen, run without a browser, and the sheet that comes of it."""

import shutil
from datetime import UTC, datetime

import pytest

from dashboard.blends.paper import sheet_values
from dashboard.blends.sections import SECTIONS
from dashboard.frame import session
from spc.answers.blends.blend_sheets import sheet_of_blend
from spc.store import Store
from tests.dashboard.command.test_blend import lotheat
from tests.dashboard.screen import field, opened, words
from tests.staff import ME, MY_NAME

PRINTED = datetime(2026, 11, 20, 9, 30, tzinfo=UTC)


@pytest.fixture
def counted(counted_file, tmp_path):
    with Store.open(shutil.copy(counted_file, tmp_path / "lots.db")) as store:
        session.hold(store)
        yield store
        session._HELD.clear()


def press(app, label):
    (found,) = [one for one in app.button if one.label == label]
    found.click()
    return app.run()


def keep(app, name="house blend"):
    field(app, "text_input", "Call it").set_value(name)
    return press(app, "Save the recipe as a draft")


@pytest.mark.usefixtures("counted")
def test_every_part_has_a_first_line_of_its_own_and_raises_nothing():
    app, said = opened("blends"), []
    for section in SECTIONS:
        app.get("button_group")[0].set_value(section)
        app.run()

        assert not app.exception, section
        assert not app.error, section
        said.append(app.markdown[0].value)

    assert "can be made today from" in said[0]
    assert said[1].startswith("**No blend has been kept yet")
    assert "may go into a blend" in said[2]
    assert "cannot be said yet" in said[3]


@pytest.mark.usefixtures("counted")
def test_the_answer_changes_with_what_is_asked_and_a_rejected_lot_is_not_offered():
    app = opened("blends")
    before = app.markdown[0].value

    field(app, "number_input", "Heat (SHU)").set_value(45_000.0)
    app.run()

    table = next(one.value for one in app.dataframe if "why it is not offered" in one.value)
    assert app.markdown[0].value != before
    assert "rejected" in table["why it is not offered"].tolist()
    assert "A blend does not cure a lot" in words(app)
    assert not app.error


@pytest.mark.usefixtures("counted")
def test_asked_from_a_product_the_heat_of_the_blend_is_worked_back():
    app = opened("blends")
    field(app, "toggle", "Ask from a product").set_value(True)
    app.run()
    field(app, "number_input", "Product's heat (SHU)").set_value(2_000.0)

    app.run()

    assert app.markdown[0].value.startswith("**40\u202f000 SHU ± 15 %")


def signed(app, store):
    """What the screen has just asked for, signed by the only person there is."""
    subject = f"blend {store.blends.every()['name'].iloc[0]}"
    (asked,) = [one for one in store.signing.about(subject) if one.state == "open"]
    store.signing.sign(asked.request, by=ME)
    return app.run()


def test_a_recipe_is_saved_approved_issued_and_made_and_its_lot_knows_its_parents(counted):
    app = keep(opened("blends"))
    app.get("button_group")[0].set_value("kept blends")
    app.run()
    app = signed(press(app, "Approve the draft"), counted)
    assert "Nobody has countersigned it yet" in words(app)
    app = signed(press(app, "Issue the blend sheet"), counted)
    assert counted.blends.every()["sheet"].tolist() == ["2026-0001"]
    field(app, "text_input", "Number of the new lot").set_value("B26-001")
    app = press(app, "Record that it was made")

    every = counted.blends.every()
    assert every["status"].tolist() == ["made"]
    assert counted.blends.parents("B26-001")["kg"].sum() == pytest.approx(500.0)
    assert not app.exception


def test_a_count_is_recorded_with_who_and_why(counted):
    app = opened("blends", section="stock")
    field(app, "selectbox", "Lot counted").set_value("R26-0094")
    app.run()
    field(app, "number_input", "Whole bags").set_value(12)

    app = press(app, "Record the count")

    last = counted.blends.moves("R26-0094").iloc[-1]
    assert (last["kind"], last["bags"], last["moved_by"]) == ("counted", 12, MY_NAME)
    assert "is recorded" in words(app)


def test_a_sheet_is_printed_once_it_is_issued_and_not_before(counted, tmp_path):
    keep(opened("blends"), name="mild")
    path = tmp_path / "lots.db"
    key = counted.blends.every()["blend"].iloc[0]
    counted.close()

    before = lotheat("report", "blend", "mild", "--out", tmp_path / "sheet.pdf", store=path)
    with Store.open(path) as store:
        store.blends.approve(
            key,
            by=ME,
        )
        store.blends.issue(key, by=ME)
        sheet = store.blends.one(key).sheet
        said = sheet_values(
            sheet_of_blend(store, sheet, printed_by="Mara Quill", printed_at=PRINTED)
        )
        portions = store.blends.portions([key])
    after = lotheat("report", "blend", sheet, "--out", tmp_path / "sheet.pdf", store=path)

    assert "no sheet to weigh by" in str(before.exception)
    assert [one["lot"] for one in said["portions"]] == portions["lot"].tolist()
    assert all("their lot" in one["theirs"] for one in said["portions"])
    bags = [line for line in said["bags"] if line[1].startswith("bag ")]
    assert len(bags) == portions["bags"].sum()
    assert any("goggles" in one for one in said["cautions"])
    assert after.exit_code == 0
    assert (tmp_path / "sheet.pdf").read_bytes().startswith(b"%PDF")
