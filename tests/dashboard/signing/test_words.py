"""What is signed, in words."""

from dashboard.signing import words

DECIDED = {
    "supplier": "Delta Mill",
    "decision": {"decision": "accepted under concession", "scope": "mild sauce", "expires_on": ""},
    "recommendation": "hold",
    "sentence": "Hold: heat is undecided",
    "lines": [{"characteristic": "heat", "outcome": "undecided"}],
    "flags": [],
    "specification": {"material": "cayenne powder", "version": 2},
}


def test_a_decision_is_told_in_the_words_of_the_trade_and_nothing_empty_is_told():
    assert words.told(DECIDED) == [
        ("supplier", "Delta Mill"),
        ("decision", "accepted under concession"),
        ("for", "mild sauce"),
        ("the evidence", "Hold: heat is undecided"),
        ("line by line", ["heat: undecided"]),
        ("specification", "cayenne powder, version 2"),
    ]
