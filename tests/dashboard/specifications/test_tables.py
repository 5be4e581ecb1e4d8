"""A specification is shown as it was approved, and its newest version first."""

from dataclasses import replace

import pytest

from dashboard.specifications.tables import specification_table, versions_table
from spc.digits import THIN
from spc.intake import catalogue


@pytest.fixture(scope="module")
def approved(small_sources):
    (only,) = catalogue.parse(small_sources["catalogue.toml"]).specifications
    return only


def test_limits_are_shown_as_they_were_approved(approved):
    shown = specification_table(approved).set_index("characteristic")["limits"]

    assert shown["heat"] == f"min 30{THIN}000, max 60{THIN}000 SHU"
    assert shown["moisture"] == "max 11 g/100 g"


def test_a_line_that_only_a_reference_method_decides_says_so(approved):
    shown = specification_table(approved).set_index("characteristic")["reference method only"]

    assert shown[shown].index.tolist() == ["aflatoxin B1"]


def test_the_newest_version_comes_first_with_who_approved_it(approved):
    second = replace(approved, version=2, approved_by="Ines Valbo", lines=approved.lines[:1])

    shown = versions_table([approved, second])

    assert shown["version"].tolist() == [2, 1]
    assert shown["approved by"].tolist() == ["Ines Valbo", "Mara Quill"]
    assert shown["lines"].tolist() == [1, 3]
