"""Every screen, run without a browser: it answers in words and never with an exception."""

from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

import dashboard
from dashboard import markup, session
from spc.store import Store

APP = str(Path(dashboard.__file__).parent / "app.py")
SCREENS = sorted(path.name for path in Path(dashboard.__file__).parent.glob("screens/[a-z]*.py"))


@pytest.fixture
def demo_screens(demo_store):
    session.hold(demo_store)
    yield demo_store
    session.hold(demo_store)


@pytest.fixture
def empty_screens(tmp_path):
    with Store.open(tmp_path / "empty.duckdb") as store:
        session.hold(store)
        yield store


def shown(screen, **query):
    app = AppTest.from_file(APP, default_timeout=60)
    app.run()
    for name, value in query.items():
        app.query_params[name] = value
    return app.switch_page(f"screens/{screen}").run()


def words(app):
    return " ".join(
        [
            *(one.value for one in app.markdown),
            *(one.value for one in app.title),
            *(one.value for one in app.error),
            *(one.proto.body for one in app.get("html")),
        ]
    )


@pytest.mark.usefixtures("demo_screens")
@pytest.mark.parametrize("screen", SCREENS)
def test_a_screen_of_the_demo_raises_nothing(screen):
    app = shown(screen, lot="R26-0140")

    assert not app.exception
    assert not app.error


@pytest.mark.usefixtures("empty_screens")
@pytest.mark.parametrize("screen", SCREENS)
def test_a_screen_of_an_empty_store_says_what_to_do(screen):
    app = shown(screen)

    assert not app.exception
    assert not app.error
    assert "receive" in words(app).casefold() or app.get("page_link")


@pytest.mark.usefixtures("demo_screens")
def test_today_says_what_waits_and_why():
    said = words(shown("today.py"))

    assert "17 lots wait for a decision" in said
    assert "1 should be rejected" in said
    assert "aflatoxin B1 9.8 µg/kg by liquid chromatography does not conform" in said
    assert "No number of further samples would settle it" in said
    assert "a dilution that cannot be right" in said
    assert "six rising or falling" in said


@pytest.mark.usefixtures("demo_screens")
def test_a_lot_shows_its_verdict_its_flags_and_what_intake_holds():
    said = words(shown("lot.py", lot="R26-0143"))

    assert "Lot R26-0143" in said
    assert "No result that may decide yet for heat" in said
    assert "rows held at intake" in said
    assert "Dunmarsh" not in said


@pytest.mark.usefixtures("demo_screens")
def test_a_number_opens_down_to_its_row_and_file():
    app = shown("lot.py", lot="R26-0140")
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
    app = shown("lot.py", lot="R99-1")

    assert not app.exception
    assert "There is no lot 'R99-1' in the store." in words(app)


@pytest.mark.usefixtures("demo_screens")
def test_a_decision_without_a_reason_is_refused_on_the_screen():
    app = shown("lot.py", lot="R26-0141")
    next(one for one in app.radio if one.label == "Decision").set_value("accepted")
    next(one for one in app.text_input if one.label == "Your name").set_value("Test Officer")

    next(one for one in app.button if one.label == "Sign").click().run()

    assert "the decision has no reason" in words(app)


def test_texts_of_a_file_cannot_become_markup():
    assert "<script>" not in markup.original({"Lot": "<script>alert(1)</script>"})


@pytest.mark.usefixtures("demo_screens")
def test_a_trend_is_told_in_a_sentence_with_what_it_rests_on():
    app = shown(
        "trends.py",
        material="cayenne powder",
        supplier="North Fen Spices",
        characteristic="heat",
        method="rapid sensor",
    )

    said = words(app)
    assert "The newest lot, R26-0146, is unusual" in said
    assert "by a provisional baseline of 24 lots" in said
    assert len(app.get("vega_lite_chart")) == 1
