"""A specification is shown as it was approved, and its newest version first."""

from dataclasses import replace
from datetime import date, datetime

import pytest

from dashboard.specifications.tables import specification_table, versions_table
from spc.digits import THIN
from spc.intake import catalogue
from spc.store.catalogue.approvals import Approval


@pytest.fixture(scope="module")
def approved(small_sources):
    (only,) = catalogue.parse(small_sources["catalogue.toml"]).specifications
    return only


def approval(version, **other):
    said = {
        "kind": "specification",
        "name": "cayenne powder",
        "version": version,
        "effective_from": date(2026, 1, 1),
        "how": "signed",
        "request": "",
        "approved_by": "Ines Valbo",
        "reason": "first issue",
        "approved_at": datetime(2026, 11, 30, 20, 41),  # noqa: DTZ001 - the store keeps UTC
    }
    return Approval(**said | other)


def test_limits_are_shown_as_they_were_approved(approved):
    shown = specification_table(approved).set_index("characteristic")["limits"]

    assert shown["heat"] == f"min 30{THIN}000, max 60{THIN}000 SHU"
    assert shown["moisture"] == "max 11 g/100 g"


def test_a_line_that_only_a_reference_method_decides_says_so(approved):
    shown = specification_table(approved).set_index("characteristic")["reference method only"]

    assert shown[shown].index.tolist() == ["aflatoxin B1"]


def test_the_newest_version_comes_first_with_who_approved_it(approved):
    second = replace(approved, version=2, approved_by="Ines Valbo", lines=approved.lines[:1])

    shown = versions_table(
        [approved, second],
        [approval(1, how="history", approved_by="Mara Quill"), approval(2, one_person=True)],
    )

    assert shown["version"].tolist() == [2, 1]
    assert shown["approval"].tolist() == [
        "approved by Ines Valbo on 30 November 2026, one person, not countersigned yet",
        "from before the record, as received (approved by Mara Quill)",
    ]
    assert shown["lines"].tolist() == [1, 3]
