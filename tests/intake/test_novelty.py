import pandas as pd
from hypothesis import given, settings
from hypothesis import strategies as st

from spc.intake.checks.novelty import CHANGED, KNOWN, NEW, novelty

FACTS = ["value", "unit", "day"]
LINE = st.tuples(
    st.sampled_from("ABC"),
    st.sampled_from([None, 0.0, 1.5]),
    st.sampled_from(["g", "mg"]),
    st.sampled_from([None, pd.Timestamp("2026-03-04"), pd.Timestamp("2026-03-05")]),
)


def frame(lines):
    typed = {"key": "str", "value": "float64", "unit": "str", "day": "datetime64[us]"}
    return pd.DataFrame(list(lines), columns=["key", *FACTS]).astype(typed)


def one_by_one(said, existing):
    """The slow way: each line against the first that had its key."""
    first = {line[0]: line for line in reversed(existing)}
    fates = []
    for line in said:
        fates.append(NEW if line[0] not in first else KNOWN if first[line[0]] == line else CHANGED)
        first.setdefault(line[0], line)
    return fates


@settings(max_examples=150, deadline=None)
@given(st.lists(LINE, max_size=8), st.lists(LINE, max_size=3, unique_by=lambda line: line[0]))
def test_what_is_said_is_told_from_what_is_known_as_one_line_after_the_other(said, existing):
    fates = novelty(frame(said), frame(existing), key="key", facts=FACTS)

    assert fates.tolist() == one_by_one(said, existing)
