"""Dates are read by the file: one that only another form reads puts all that fit two in doubt."""

import numpy as np
import pandas as pd
import pytest

from spc.intake.profiles.profile import FileForm
from spc.intake.table.date_doubts import date_doubt
from tests.staff import ME

NOW = np.datetime64("2026-11-20")
PROFILE = """
profile = "slashes"
version = {version}
[file]
date_format = "{form}"
[columns]
lot = "Lot no"
sample = "Bag"
measured_at = "On"
[[measure]]
characteristic = "moisture"
method = "moisture balance"
reading = "Water"
unit = "g/100 g"
"""
FILE = b"Lot no,Bag,On,Water\nL-1,1,03/04/2026,9.1\nL-1,2,03/13/2026,9.2\nL-1,3,04/04/2026,9.3\n"


def profile(form: str = "%d/%m/%Y", version: int = 1) -> bytes:
    return PROFILE.format(form=form, version=version).encode()


def test_a_date_that_only_the_other_order_can_read_holds_all_that_fit_both(small_store):
    small_store.receive_bytes("slashes.toml", profile(), by=ME)

    receipt = small_store.receive_bytes("march.csv", FILE, by=ME)

    held = small_store.held(receipt.receipt).set_index("source_row")
    assert held["code"].to_dict() == {2: "day-or-month", 3: "unreadable-date"}
    assert held.loc[2, "reason"] == (
        "'03/04/2026' can be 03 April 2026 or 04 March 2026: the source profile says %d/%m/%Y, and"
        " the file has '03/13/2026', which is only a date as %m/%d/%Y."
    )
    assert receipt.stored == 1


def test_the_next_version_of_the_profile_settles_it(small_store):
    small_store.receive_bytes("slashes.toml", profile(), by=ME)
    receipt = small_store.receive_bytes("march.csv", FILE, by=ME)
    small_store.receive_bytes("slashes.toml", profile("%m/%d/%Y", 2), by=ME)

    small_store.intake.check_again(receipt.receipt, by=ME)

    assert small_store.held().empty
    results = small_store.results("L-1")
    mine = results[results["receipt"] == receipt.receipt].set_index("source_row")
    assert mine["measured_at"].dt.strftime("%m-%d").loc[[2, 3]].tolist() == ["03-04", "03-13"]


def test_a_person_can_say_that_the_profile_is_right(small_store):
    small_store.receive_bytes("slashes.toml", profile(), by=ME)
    receipt = small_store.receive_bytes("march.csv", FILE, by=ME)

    small_store.intake.confirm(receipt.receipt, [2], by=ME, reason="row 3 has a typing error")

    assert small_store.held()["source_row"].tolist() == [3]


@pytest.mark.parametrize(
    ("texts", "form", "found"),
    [
        (["03/04/2026", "13/04/2026"], "%d/%m/%Y", None),
        (["03/04/2026", "04/13/2026"], "%d/%m/%Y", "%m/%d/%Y"),
        (["03/04/26", "04/13/26"], "%d/%m/%y", "%m/%d/%y"),
        (["03/04/2026 10:00", "04/13/2026 11:00"], "%d/%m/%Y %H:%M", "%m/%d/%Y %H:%M"),
        # The day lies ahead as the profile reads it.
        (["10/12/2026"], "%d/%m/%Y", "%m/%d/%Y"),
        (["2026-04-03", "2026-13-04"], "%Y-%m-%d", None),
        (["03/04/2026", "soon", ""], "%d/%m/%Y", None),
    ],
)
def test_what_contradicts_a_form_is_a_date_that_it_cannot_read(texts, form, found):
    doubt = date_doubt([pd.Series(texts, dtype="str")], FileForm(date_format=form), now=NOW)

    assert (None if doubt is None else doubt.form) == found
