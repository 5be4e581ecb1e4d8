"""A row that contradicts itself waits for a person; published tables print such rows too."""

import numpy as np
import pytest

from spc.errors import BadProfile
from spc.intake import Known, catalogue, interpret, read
from spc.intake.profiles import profile

HEADER = "Your lot,Analysed,Capsaicin,Dihydrocapsaicin,Heat SHU,Total"


@pytest.fixture(scope="module")
def source(small_sources):
    text = small_sources["laboratory.toml"].split("[[measure]]")[:2]
    printed = 'printed = "Heat SHU"\nprinted_total = "Total"\n'
    return profile.parse("[[measure]]".join(text) + printed)


@pytest.fixture(scope="module")
def known(small_sources):
    return Known(
        catalogue=catalogue.parse(small_sources["catalogue.toml"]),
        lots=["L-1"],
        now=np.datetime64("2026-03-31"),
    )


def said(source, known, *rows):
    content = "\n".join([HEADER, *rows, ""]).encode()
    return interpret(read(content, source.form), source, known)


def test_a_row_whose_printed_figures_follow_from_its_parts_is_taken(source, known):
    """1 500 and 1 000 µg/g at 16.1 are 40 250 SHU and 2 500 µg/g."""
    batch = said(source, known, "L-1,2026-03-04,1500,1000,40300,2500")

    assert batch.held.empty
    assert len(batch.results) == 1


def test_a_heat_that_the_parts_do_not_give_is_held_with_its_likely_factor(source, known):
    batch = said(source, known, "L-1,2026-03-04,1500,1000,37500,2500")

    row = batch.held.iloc[0]
    assert row["code"] == "contradiction"
    assert "printed as 37\N{NARROW NO-BREAK SPACE}500 SHU" in row["reason"]
    assert "(+7.3 %)" in row["reason"]
    assert "known slip" in row["reason"]
    assert batch.results.empty


def test_a_total_that_is_not_the_sum_is_held(source, known):
    batch = said(source, known, "L-1,2026-03-04,1500,1000,40250,2900")

    assert batch.held["code"].tolist() == ["contradiction"]
    assert "(−13.8 %)" in batch.held["reason"].iloc[0]


@pytest.mark.parametrize("printed", ["", "-"])
def test_a_figure_that_is_not_printed_contradicts_nothing(source, known, printed):
    assert said(source, known, f"L-1,2026-03-04,1500,1000,{printed},{printed}").held.empty


def test_a_printed_figure_that_is_no_number_holds_the_row(source, known):
    batch = said(source, known, "L-1,2026-03-04,1500,1000,hot,2500")

    assert batch.held["code"].tolist() == ["unreadable-number"]


def test_parts_below_quantification_are_not_contradicted_by_rounding(source, known):
    batch = said(source, known, "L-1,2026-03-04,1500,<LOQ,24200,1505")

    assert batch.held.empty


def test_a_printed_total_needs_parts(small_sources):
    text = small_sources["moisture.toml"] + 'printed_total = "Total"\n'

    with pytest.raises(BadProfile, match="a printed total needs parts"):
        profile.parse(text)
