"""Verdicts and receipts as a screen gets them, made from a few plain numbers."""

from collections.abc import Callable
from datetime import datetime

import pytest

from spc.acceptance import LotVerdict, Specification
from spc.acceptance.evidence.flags import Flag
from spc.acceptance.evidence.lines import LineVerdict
from spc.acceptance.specification import Line
from spc.store import Receipt


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
