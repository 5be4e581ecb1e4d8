"""From any number back to its reading, its row, the file's bytes and who brought it."""

import hashlib

import pytest


def origin(store, result):
    one, chain, cells = store.calculation(result)
    name, content = store.receipt_bytes(one["receipt"])
    assert name == one["file"]
    assert hashlib.sha256(content).hexdigest() == one["sha256"]
    assert one["received_by"]
    assert chain.steps
    return one, cells


@pytest.mark.parametrize("standing", ["declared", "routine", "reference"])
def test_a_result_of_every_standing_leads_to_its_row(demo_store, standing):
    results = demo_store.results()
    mine = results[results["standing"] == standing].drop_duplicates("receipt")

    for result in (mine["result"].iloc[0], mine["result"].iloc[-1]):
        one, cells = origin(demo_store, result)
        assert one["lot"] in cells.values()
        assert set(one["reading_text"].split(" + ")) <= set(cells.values())


def test_a_reading_of_a_control_sample_leads_to_its_row(demo_store):
    stream = demo_store.compare.controls("rapid sensor")[0]

    one, cells = origin(demo_store, stream.readings["result"].iloc[0])

    assert one["lot"] == stream.control.control
    assert {stream.control.control, one["reading_text"]} <= set(cells.values())
