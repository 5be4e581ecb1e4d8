"""Which waiting lots are routine, and may be accepted together."""

import pandas as pd

from dashboard.today import words
from dashboard.today.tables import routine


def test_a_lot_is_routine_if_all_conforms_nothing_stands_beside_it_and_nobody_held_it(judged):
    verdicts = {
        "plain": judged("accept", "conforming"),
        "noted": judged("accept", "conforming", flags=["unusual for this supplier"]),
        "held": judged("accept", "conforming"),
        "open": judged("hold", "undecided"),
        "bad": judged("reject", "not conforming"),
    }
    waiting = pd.DataFrame(
        {
            "lot": list(verdicts),
            "material": "cayenne powder",
            "supplier": "North Mill",
            "decision": ["", "", "on hold", "", ""],
        }
    )

    found = routine(waiting, verdicts)

    assert found["lot"].tolist() == ["plain"]
    assert words.routine_lot(found.iloc[0]) == "plain: cayenne powder from North Mill, heat"


def test_the_button_says_how_many_lots_it_accepts():
    assert [words.accept(number) for number in (0, 1, 3)] == [
        "Accept…",
        "Accept 1 lot…",
        "Accept 3 lots…",
    ]
