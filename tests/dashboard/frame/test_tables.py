"""Tables that several rooms show: nothing is lost."""

import pytest

from dashboard.frame.tables import calculation_table, lots_table
from spc.digits import THIN


def test_a_calculation_is_shown_step_by_step_to_the_value_that_stands(demo_store):
    results = demo_store.results("R26-0140")
    one = results[results["method"] == "rapid sensor"].iloc[0]
    _, chain, _ = demo_store.calculation(one["result"])

    table = calculation_table(chain)

    assert table["step"].iloc[-1] == "heat"
    last = table["result"].iloc[-1]
    assert float(last.replace(THIN, "")) == pytest.approx(one["value_low"], rel=1e-5)
    assert table["unit"].iloc[-1] == "SHU"


def test_all_lots_are_listed_newest_first_with_their_weight(demo_store):
    lots = demo_store.lots()

    table = lots_table(lots)

    assert table["lot"].tolist() == lots["lot"].tolist()[::-1]
    priced = table["price per kg"].dropna()
    assert (priced > 0).all()
    assert table["kg"].dropna().gt(0).all()


def test_a_lot_without_a_price_has_none(small_store):
    table = lots_table(small_store.lots())

    assert table["price per kg"].isna().all()
    assert table["kg"].tolist() == [500.0, 1000.0]
