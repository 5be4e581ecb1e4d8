"""Held rows mended on the screen, and results withdrawn."""

from dashboard.frame import session
from dashboard.frame.words import beside
from dashboard.intake import blocks, withdrawing
from dashboard.intake.tables.mending import blends_table, changed_table
from dashboard.intake.words import mending
from tests.dashboard.screen import field, opened, words
from tests.staff import ME, MY_NAME


def test_held_rows_are_mended_on_the_screen(slipped):
    app = opened("intake")
    app.toggle[0].set_value(True).run()
    columns = field(app, "multiselect", "Columns to mend")
    assert columns.options[0].endswith(")")
    columns.set_value(["Portion g", "Buffer mL"]).run()
    field(app, "text_input", "Portion g of 2 rows").set_value("0.1").run()
    field(app, "text_input", "Buffer mL of 2 rows").set_value("10").run()
    assert "Of 2 rows, 2 would be stored" in words(app)
    assert len(slipped.held()) == 2

    field(app, "button", "Mend these 2").click().run()
    assert "no reason is given" in words(app)
    field(app, "text_input", "How you know").set_value("the notebook").run()
    field(app, "button", "Mend these 2").click().run()

    assert not app.exception
    assert f"2 rows mended by {MY_NAME}; 2 stored now" in words(app)
    assert slipped.held().empty


def test_cells_beyond_the_header_are_mended_to_nothing_on_the_screen(small_store, source_file):
    line = "L-1,1,1,2026-03-04 10:01:00,0.1,10,1,17.7,µmol/L,clumpy"
    small_store.receive_bytes("sensor.csv", source_file("sensor", line), by=ME)
    session.hold(small_store)
    app = opened("intake")
    assert "more cells than columns" in app.expander[1].label

    app.toggle[0].set_value(True).run()
    field(app, "multiselect", "Columns to mend").set_value(["surplus"]).run()
    assert "Of 1 row, 1 would be stored" in words(app)
    field(app, "text_input", "How you know").set_value("it is a remark").run()
    field(app, "button", "Mend these 1").click().run()

    assert not app.exception
    assert small_store.held().empty


def test_rows_held_for_one_of_several_reasons_are_dismissed_alone(small_store, source_file):
    lines = [f"{lot},1,1,2026-03-04 10:01:00,0.100,10.0,1,17.7,µmol/L" for lot in ("L-8", "L-9")]
    small_store.receive_bytes("sensor.csv", source_file("sensor", *lines), by=ME)
    session.hold(small_store)
    app = opened("intake")
    assert "2 different reasons" in words(app)

    because = field(app, "selectbox", "Held because")
    because.select(next(one for one in because.options if "L-9" in one)).run()
    form = field(app, "button", "Dismiss these 1").form_id
    field(app, "text_input", "Reason, if you dismiss them", form).set_value("never delivered")
    field(app, "button", "Dismiss these 1").click().run()

    assert not app.exception
    assert small_store.held()["lot"].tolist() == ["L-8"]


def test_everything_that_waits_is_checked_again_at_once(small_store, source_file):
    for day in ("04", "05"):
        line = f"L-3,1,1,2026-03-{day} 10:01:00,0.100,10.0,1,17.7,µmol/L"
        small_store.receive_bytes(f"{day}.csv", source_file("sensor", line), by=ME)
    announced = "L-3,cayenne powder,North Mill,2026-03-02,2025,40,25,39000,2026-02-20"
    small_store.receive_bytes("lots.csv", source_file("register", announced), by=ME)
    session.hold(small_store)
    app = opened("intake")

    everything = field(app, "button", "Check all of them again")
    everything.click().run()

    assert "2 rows of 2 files stored now, 0 rows still held" in words(app)
    assert small_store.held().empty


def test_what_hangs_on_a_file_is_shown_before_it_is_withdrawn(slipped):
    app = opened("intake")
    choice = field(app, "selectbox", "Which")
    choice.set_value(slipped.intake.files()["receipt"].iloc[0]).run()

    assert not app.exception
    assert "Nothing is withdrawn yet" in words(app)
    assert slipped.invalidations("L-1").empty

    field(app, "text_input", "Cause that was found").set_value("wrong file sent")
    field(app, "button", "Withdraw").click().run()

    (asked,) = slipped.signing.about("file sensor.csv")
    assert slipped.invalidations("L-1").empty
    slipped.signing.sign(asked.request, by=ME)
    assert len(slipped.invalidations("L-1")) == asked.about["results"]


def test_what_was_mended_is_told_beside_what_came(slipped):
    receipt = slipped.held()["receipt"].iloc[0]
    slipped.intake.mend(receipt, [2], {"Portion g": "0.1"}, by=ME, reason="notebook")
    (mend,) = slipped.intake.mends(receipt).to_dict("records")

    said = beside(mend, {"Portion g": "1.000"})

    assert said.startswith(f"Portion g: 1.000 came, 0.1 stands for it ({MY_NAME}, ")
    assert said.endswith(": notebook)")


def test_consequences_name_lots_and_blends(slipped):
    receipt = slipped.intake.files()["receipt"].iloc[0]
    told = slipped.intake.would_change("file", receipt)

    said = mending.consequences(told, "file register.csv")

    assert said.startswith("Without file register.csv, 2 results of 2 lots and control samples")
    assert len(changed_table(told)) == len(told.changed)
    assert blends_table(told).empty
    shown = blocks.changed(told.changed)
    assert all(one.lot in shown and one.after.sentence in shown for one in told.changed)
    assert withdrawing.KINDS == ("file", "sensor batch")
