"""What a file leaves in doubt is asked on the screen, and settled with one click."""

from dashboard.frame import session
from dashboard.frame.escaping import plain
from tests.dashboard.intake.test_screen import drop
from tests.dashboard.screen import field, opened, words
from tests.intake.test_blocks import WATER
from tests.intake.test_dates_of_a_file import FILE, profile
from tests.staff import ME, MY_NAME


def test_a_file_that_two_profiles_fit_asks_which_is_meant(small_store):
    twin = WATER.replace("plain water", "other mill")
    for name, text in (("a.toml", WATER), ("b.toml", twin)):
        small_store.receive_bytes(name, text.encode(), by=ME)
    session.hold(small_store)
    app = drop(opened("intake"), "water.csv", b"Lot,Bag,Water %\nL-1,1,9.8\n")
    asked = next(one for one in app.radio if "fits more than one source profile" in one.label)
    assert asked.options == ["other mill", "plain water"]

    asked.set_value("other mill").run()
    assert "1 row = 1 stored" in words(app)
    field(app, "button", "Take in").click().run()

    assert small_store.receipts()["profile"].iloc[0] == "other mill"


def test_rows_in_doubt_are_said_to_be_right_on_the_screen(small_store):
    small_store.receive_bytes("slashes.toml", profile(), by=ME)
    small_store.receive_bytes("march.csv", FILE, by=ME)
    session.hold(small_store)
    app = opened("intake")
    assert "a date that can be read in two ways" in " ".join(one.label for one in app.expander)

    form = field(app, "button", "It is right").form_id
    field(app, "text_input", "How you know that they are right", form).set_value("asked them")
    field(app, "button", "It is right", form).click().run()

    assert not app.exception
    assert plain(f"1 row found to be right by {MY_NAME}; 1 stored now") in words(app)


def test_all_cells_of_one_text_are_read_alike_with_one_click(small_store, source_file):
    rows = [
        f"L-1,{n},1,2026-03-04 10:00:00,0.1,10,10,{t},µmol/L" for n, t in enumerate(["n.d."] * 3)
    ]
    small_store.receive_bytes("sensor.csv", source_file("sensor", *rows), by=ME)
    session.hold(small_store)
    app = opened("intake")
    assert "Reading is n.d. in 3 rows." in words(app)

    field(app, "radio", "Read all of these as").set_value("<LOQ")
    field(app, "text_input", "How you know").set_value("their letter of March")
    field(app, "button", "Read all 3 alike").click().run()

    assert not app.exception
    assert plain(f"3 rows mended by {MY_NAME}") in words(app)
    assert set(small_store.results("L-1").query("method == 'rapid sensor'")["qualifier"]) == {"<"}
