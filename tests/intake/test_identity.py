import numpy as np
import pandas as pd
from hypothesis import given, settings
from hypothesis import strategies as st

from spc.intake.checks.identity import identities


def said(moments, **named):
    columns = {"method": "m", "characteristic": "heat", "lot": "L-1", "sample": "1"}
    return pd.DataFrame(
        {**columns, "replicate": "1", "instrument": "", **named}
        | {"measured_at": pd.Series(moments, dtype="datetime64[us]")}
    )


@settings(max_examples=60, deadline=None)
@given(st.lists(st.datetimes(), min_size=1, max_size=6))
def test_a_moment_stands_in_an_identity_as_the_calendar_writes_it_to_the_second(moments):
    found = identities(said(moments))

    written = [moment.replace(microsecond=0).isoformat() for moment in moments]
    assert [one.rsplit("|", 1)[1] for one in found] == written


def test_a_measurement_without_a_time_has_an_identity_too():
    assert identities(said([np.datetime64("NaT")])).tolist() == ["m|heat|L-1|1|1||"]


def test_no_sign_in_a_cell_makes_two_measurements_one():
    pairs = [("1|2", "3"), ("1", "2|3"), ("1\\", "2|3"), ("1\\|2", "3"), ("1\\|2\\", "|3")]
    moments = [np.datetime64("2026-03-04T10:00:00")] * len(pairs)
    samples, replicates = zip(*pairs, strict=True)

    assert identities(said(moments, sample=samples, replicate=replicates)).is_unique
