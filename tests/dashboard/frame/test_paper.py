"""What every paper shares: figures as vectors, and signs that a page can carry."""

import pandas as pd
import pytest

from dashboard.frame import paper_figures
from dashboard.frame.charts.spec import as_spec
from dashboard.frame.charts.stream_chart import stream_chart
from dashboard.frame.paper import printable


def test_a_figure_is_the_same_each_time_and_its_words_are_words():
    spec = as_spec(stream_chart(log=False, limits=False, brackets=()))
    before = repr(spec)
    frame = pd.DataFrame(
        {
            "lot": ["A <1>", "B"],
            "at": pd.to_datetime(["2026-01-01", "2026-02-01"]),
            "order": [1, 2],
            "value": [1.0, 2.0],
            "signal": ["", "beyond limits"],
            "unit": "%",
        }
    )

    first, second = (paper_figures.drawn(spec, frame, width=640) for _ in range(2))

    assert first == second
    assert repr(spec) == before
    assert "B</text>" in first
    assert 'font-family="Asap"' in first


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("ground habanero", "ground habanero"),
        ("µ ñ Ж ≤ 1\N{NARROW NO-BREAK SPACE}000", "µ ñ Ж ≤ 1\N{NARROW NO-BREAK SPACE}000"),
        ("漢字 🌶", "[U+6F22][U+5B57] [U+1F336]"),
        ("one\r\ntwo\tthree", "one two three"),
        ("\x00\x1b[31m", "��[31m"),
        ("abc\u202edef", "abc�def"),
        ("\ud800", "�"),
    ],
)
def test_only_what_no_page_can_carry_is_replaced(text, shown):
    assert printable({"a": [text, 1, None]}) == {"a": [shown, 1, None]}
