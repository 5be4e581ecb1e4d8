"""Stores held by the screens, and verdicts and receipts made from a few plain numbers."""

import shutil
from collections.abc import Callable
from datetime import datetime
from pathlib import Path

import pytest

import demo_data
from dashboard.frame import session
from spc.acceptance import LotVerdict, Specification
from spc.acceptance.evidence.flags import Flag
from spc.acceptance.evidence.lines import LineVerdict
from spc.acceptance.specification import Line
from spc.answers.blends import stocktake
from spc.store import Receipt, Store
from tests.dashboard.streams import DRIFTING
from tests.staff import ME


@pytest.fixture(scope="session")
def judged() -> Callable[..., LotVerdict]:
    """A verdict with a line for each outcome; `text` stands wherever a person may write."""

    def made(recommendation, *outcomes, text="heat", safety=False, flags=()) -> LotVerdict:
        line = Line(
            characteristic=text, unit="SHU", scale="log", upper=5e4, safety=safety, source=text
        )
        return LotVerdict(
            specification=Specification(
                material=text,
                version=2,
                effective_from="2026-01-01",
                approved_by="Mara Quill",
                reason="first issue",
                lines=(line,) * len(outcomes),
            ),
            lines=tuple(
                LineVerdict(
                    line=line,
                    outcome=outcome,
                    probability=(0.5, 0.5),
                    mean=None,
                    reason=text,
                    remedy=text,
                )
                for outcome in outcomes
            ),
            flags=tuple(Flag(name=name, sentence=text, holds=True) for name in flags),
            recommendation=recommendation,
            sentence=f"{recommendation.capitalize()}: {text}",
        )

    return made


@pytest.fixture(scope="session")
def receipt() -> Callable[..., Receipt]:
    """What became of a file of the laboratory."""

    def made(**facts) -> Receipt:
        told = {"rows": 45, "stored": 43, "held": 2, "known": 0, "results": 60, **facts}
        return Receipt(
            receipt="0a1b2c3d4e5f",
            name="march.csv",
            sha256="0a1b2c3d4e5f" + "0" * 52,
            kind="rows",
            profile="sensor",
            received_by="Mara Quill",
            received_at=datetime(2026, 3, 12, 9, 30),  # noqa: DTZ001 - as the store keeps it: UTC
            **told,
        )

    return made


@pytest.fixture(scope="session")
def drifting(demo_survey):
    """A stream of the demo that moved, and its signals."""
    signals = demo_survey.signals()
    points = demo_survey.of(DRIFTING)
    return points, signals[signals["stream"] == points["stream"].iloc[0]]


@pytest.fixture
def demo_screens(demo_store):
    session.hold(demo_store)
    yield demo_store
    session.hold(demo_store)


@pytest.fixture
def writable_screens(writable_demo):
    session.hold(writable_demo)
    return writable_demo


@pytest.fixture
def empty_screens(tmp_path):
    with Store.open(tmp_path / "empty.duckdb") as store:
        session.hold(store)
        yield store


COUNT = Path(demo_data.__file__).parent / "stock_take.csv"


@pytest.fixture(scope="session")
def counted_file(demo_store_file, tmp_path_factory):
    """The demo's store after the count of its store room, closed."""
    path = tmp_path_factory.mktemp("counted") / "lots.db"
    with Store.open(shutil.copy(demo_store_file, path)) as store:
        found = stocktake.stocktake_counts(COUNT.name, COUNT.read_bytes())
        store.blends.take_stock(found, by=ME, reason="stock-take")
    return path
