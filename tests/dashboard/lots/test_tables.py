"""Every reading of a lot in a table."""

from dashboard.lots.tables import results_table


def test_every_reading_of_a_lot_is_listed_with_what_it_was_derived_from(demo_store):
    results = demo_store.results("R26-0140")

    table = results_table(results)

    assert len(table) == len(results)
    assert "absent in 25 g" in table["value"].tolist()
    heat = table[(table["characteristic"] == "heat") & (table["method"] == "rapid sensor")]
    assert heat["basis"].eq("as-is").all()
    assert heat["value"].str.endswith("SHU").all()
    assert heat["reading"].str.endswith("µmol/L").all()
    assert table["measured (UTC)"].str.fullmatch(r"(\d{4}-\d\d-\d\d \d\d:\d\d)?").all()


def test_a_lot_without_results_has_an_empty_table(small_store):
    table = results_table(small_store.results("L-1").head(0))

    assert table.empty
    assert "value" in table.columns
