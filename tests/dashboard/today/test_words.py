"""What waits today: countable, and no more than the numbers allow."""

import pandas as pd
import pytest

from dashboard.today import words

NOTHING_WAITS = pd.DataFrame({"received_at": pd.to_datetime([]), "decision": []})


def waiting(*decisions):
    return pd.DataFrame(
        {
            "received_at": pd.date_range("2026-11-03", periods=len(decisions), freq="2D"),
            "decision": list(decisions),
        }
    )


def test_a_morning_on_which_nothing_waits_is_told_as_such():
    said = words.today(NOTHING_WAITS, {}, held=0, moved=0)

    assert said == (
        "No lot waits for a decision. No stream of the last 30 days is unusual for its supplier."
        " No row is held."
    )


def test_one_of_everything_is_told_in_the_singular(judged):
    said = words.today(waiting(""), {"L-1": judged("accept", "conforming")}, held=1, moved=1)

    assert said == (
        "1 lot waits for a decision, the oldest since 3 November 2026: 1 may be accepted."
        " 1 stream of the last 30 days is unusual for its supplier."
        " 1 row of received files is held."
    )


def test_waiting_lots_are_divided_by_what_can_be_done_about_them(judged):
    verdicts = {
        "L-1": judged("reject", "not conforming"),
        "L-2": judged("hold", "undecided"),
        "L-3": judged("hold", "conforming", "no result"),
        "L-4": judged("hold", "no result"),
        "L-5": judged("accept", "conforming"),
    }

    said = words.today(waiting("on hold", "", "on hold", "", ""), verdicts, held=4, moved=2)

    assert (
        "5 lots wait for a decision, the oldest since 3 November 2026: 1 should be rejected,"
        " 1 cannot be settled on the evidence there is, 2 still lack a result and 1 may be"
        " accepted. 2 of them are on hold by a decision." in said
    )
    assert "2 streams of the last 30 days are unusual for their supplier." in said
    assert "4 rows of received files are held." in said


def test_a_single_lot_on_hold_and_one_without_a_result_are_singular(judged):
    verdicts = {"L-1": judged("hold", "no result"), "L-2": judged("accept", "conforming")}

    said = words.today(waiting("on hold", ""), verdicts, held=0, moved=0)

    assert "1 still lacks a result and 1 may be accepted. 1 of them is on hold" in said


@pytest.mark.parametrize(
    ("names", "said"),
    [
        (["a.csv", "a.csv"], "in a.csv"),
        (["a.csv", "b.csv", "a.csv"], "in a.csv and b.csv"),
        (["a.csv", "b.csv", "c.csv"], "in 3 files, the last c.csv"),
    ],
)
def test_files_are_named_while_they_are_few(names, said):
    assert words.files(pd.Series(names)) == said
