"""Capability is said with its intervals, or withheld with the reason."""

from dataclasses import replace

import pytest

from spc import capability
from spc.acceptance import Line
from spc.answers import stream_capability
from spc.capability import Capability, Withheld

HEAT = Line(
    characteristic="heat",
    unit="SHU",
    scale="log",
    lower=25_000.0,
    upper=60_000.0,
    target=40_000.0,
    basis="as-is",
)


@pytest.fixture(scope="module")
def stream(demo_store):
    """Points and signals of one stream of cayenne powder."""
    survey = demo_store.sweep(material="cayenne powder")
    signals = survey.signals()

    def of(supplier):
        key = next(
            one
            for one in demo_store.stream_keys()
            if (one.material, one.supplier, one.characteristic, one.method)
            == ("cayenne powder", supplier, "heat", "rapid sensor")
        )
        points = survey.of(key)
        return points, signals[signals["stream"] == points["stream"].iloc[0]]

    return of


def test_a_drifting_supplier_has_no_capability(stream):
    points, signals = stream("North Fen Spices")

    found = stream_capability.capability_of_stream(points, signals, HEAT)

    assert isinstance(found, Withheld)
    assert stream_capability.capability_sentence(found).startswith(
        "Withheld. The stream is not stable"
    )


def test_a_steady_supplier_s_indices_come_with_intervals_and_lots(stream):
    points, signals = stream("Brindlemoor Trading")

    found = stream_capability.capability_of_stream(points, signals.iloc[:0], HEAT)

    assert isinstance(found, Capability)
    alone = capability.indices(
        points["value"].to_numpy(),
        lower=25_000.0,
        upper=60_000.0,
        target=40_000.0,
        sigma_within=float(points["sigma"].iloc[-1]),
        scale="log",
    )
    assert found == alone
    shown = stream_capability.capability_table(found)
    assert shown["index"].tolist() == ["Cp", "Cpk", "Pp", "Ppk", "Cpm"]
    assert shown["95 % interval"].str.contains(" to ").all()
    assert f"Over {len(points)} steady lots" in stream_capability.capability_sentence(found)


def test_with_one_limit_only_the_nearer_room_is_told(stream):
    points, signals = stream("Brindlemoor Trading")

    found = stream_capability.capability_of_stream(
        points, signals.iloc[:0], replace(HEAT, upper=None, target=None)
    )

    assert isinstance(found, Capability)
    assert stream_capability.capability_table(found)["index"].tolist() == ["Cpk", "Ppk"]


def test_where_most_lots_lie_is_said_even_when_an_index_is_withheld(stream):
    points, _ = stream("North Fen Spices")

    said = stream_capability.most_lots_sentence(points, HEAT)

    assert "95 % of such lots lie between" in said
    assert f"{len(points)} lots are steady" in said


def test_one_lot_says_nothing_of_most_lots(stream):
    points, _ = stream("North Fen Spices")

    assert stream_capability.most_lots_sentence(points.head(1), HEAT) == ""
