"""The suppliers' screen, on the demo's planted stories."""

import pytest

from dashboard.frame import session
from tests.dashboard.screen import opened, words

BUTTONS = [
    "Save table (CSV)",
    "Save all tables (XLSX)",
    "Save scorecard (PDF)",
    "Save scorecard (XLSX)",
]


@pytest.mark.usefixtures("demo_screens")
def test_four_pictures_answer_four_questions_in_their_order():
    screen = opened("suppliers", material="cayenne powder")

    assert not screen.exception
    assert not screen.error
    assert [one.value for one in screen.subheader][:4] == [
        "Who is consistent?",
        "Who is drifting?",
        "Whom can I believe?",
        "What does heat cost?",
    ]
    assert len(screen.get("vega_lite_chart")) == 5, "the four, and the levels"
    assert [one.label for one in screen.get("download_button")] == BUTTONS


@pytest.mark.usefixtures("demo_screens")
def test_the_first_line_tells_the_drift_and_the_certificates_that_read_high():
    screen = opened("suppliers", material="cayenne powder")

    said = words(screen)
    assert screen.markdown[0].value.startswith("Aldermoss Growers is probably the most consistent")
    assert "North Fen Spices drifts, its crop 2026 lying 21 % above the earlier ones" in said
    assert "and goes on by +3.9 % from lot to lot" in said
    assert "Certificates of Brindlemoor Trading read 9.1 % high" in said
    assert "Likely cause: the other result is on dry basis" in said


@pytest.mark.usefixtures("demo_screens")
def test_uneven_bags_are_told_of_the_one_supplier_who_has_them():
    said = words(opened("suppliers", material="chilli flakes"))

    assert "amples of one lot differ by 19 % at Dunmarsh Ingredients, and by 5.4 % to 6.4 %" in said
    assert "Certificates of Brindlemoor Trading read 9.3 % high" in said


@pytest.mark.usefixtures("demo_screens")
def test_a_material_of_few_lots_says_what_cannot_be_said():
    said = words(opened("suppliers", material="capsicum oleoresin"))

    assert "Too few lots to say who is consistent" in said
    assert "10 lots beside the 15 compared are known as a bound only" in said
    assert "Copperfen Peppers has 3 lots; its consistency is compared from 5 on." in said


@pytest.mark.usefixtures("demo_screens")
def test_the_choice_is_kept_in_the_address():
    screen = opened("suppliers", material="cayenne powder", characteristic="moisture", margin="5")

    assert [one.value for one in screen.selectbox][:2] == ["cayenne powder", "moisture"]
    assert screen.text_input[0].value == "5"
    assert "g/100 g" in words(screen)


@pytest.mark.usefixtures("demo_screens")
@pytest.mark.parametrize("odd", [{"material": "<script>"}, {"characteristic": "charm"}])
def test_an_odd_address_falls_back_to_the_first_choice(odd):
    screen = opened("suppliers", **odd)

    assert not screen.exception
    assert not screen.error
    assert screen.selectbox[0].value == "cayenne powder"


@pytest.mark.usefixtures("demo_screens")
def test_an_address_with_no_number_for_a_margin_says_what_to_write():
    screen = opened("suppliers", margin="many")

    assert not screen.exception
    assert [one.value for one in screen.error] == [
        "Differences that do not matter, up to (%): 'many' is no number. Write one such as 500.5"
        " or 500,5."
    ]


@pytest.mark.usefixtures("demo_screens")
def test_where_nothing_can_be_drawn_it_is_said_and_no_empty_picture_stands():
    screen = opened("suppliers", material="ground habanero", characteristic="aflatoxin B1")

    assert not screen.exception
    assert "Of certificates from" in words(screen)
    assert "nothing can be said" in words(screen)
    assert len(screen.get("vega_lite_chart")) == 4, "certificates state no aflatoxin"


def test_a_store_without_own_results_leads_to_the_intake(small_store):
    session.hold(small_store)

    screen = opened("suppliers")

    assert not screen.exception
    assert "No own result can be compared yet." in words(screen)
