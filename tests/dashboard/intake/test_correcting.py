"""A corrected value on the screen: old and new, what would change, and a signature."""

from dashboard.frame import session
from tests.dashboard.screen import field, opened, words
from tests.staff import ME


def test_a_changed_row_is_accepted_on_the_screen(small_store, source_file):
    for heat in ("8.6", "8.9"):
        line = f"L-1,1,1,2026-03-04 10:01:00,0.1,10,10,{heat},µmol/L"
        small_store.receive_bytes(f"{heat}.csv", source_file("sensor", line), by=ME)
    session.hold(small_store)
    app = opened("intake")

    assert not app.exception
    assert "Nothing is corrected yet" in words(app)
    pairs = next(one.value for one in app.dataframe if "the row says" in one.value)
    assert pairs[["stands", "the row says"]].to_numpy().tolist() == [["8.6 µmol/L", "8.9 µmol/L"]]

    field(app, "text_input", "Why the new value is right").set_value("the laboratory wrote")
    field(app, "button", "Accept the correction").click().run()

    (asked,) = small_store.signing.about("row 2 of 8.9.csv")
    small_store.signing.sign(asked.request, by=ME)
    own = small_store.results("L-1").query("method == 'rapid sensor'")
    assert own["reading_text"].tolist() == ["8.9"]
