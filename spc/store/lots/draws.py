"""Packages drawn at random for sampling: the draw and its seed stand in the audit chain."""

import json
from typing import Any, Final

import numpy as np

from spc.acceptance import chosen_packages
from spc.errors import InvalidInput
from spc.store.file.cursors import Cursor
from spc.store.lots import lots
from spc.store.people.proofs import Actor
from spc.store.record import audit

ACTION: Final = "drew packages"


def draw(
    cursor: Cursor, lot: str, *, count: int, seed: int, convention: str, by: Actor
) -> list[int]:
    """Choose packages of a lot at random and record which, by what seed, for what convention.

    Raises
    ------
    InvalidInput
        If the number of packages of the lot is not known or too small.
    UnknownName
        If there is no such lot.
    """
    packages = lots.one(cursor, lot).packages
    if packages is None:
        raise InvalidInput(
            "the number of packages is not known.",
            where=f"lot {lot}",
            remedy="It comes with the delivery; receive the row that tells it.",
        )
    # The same seed gives the same packages, so that a draw can be repeated before an auditor.
    chosen = chosen_packages(packages, count, generator=np.random.default_rng(seed)).tolist()
    audit.record(
        cursor,
        actor=by.name,
        action=ACTION,
        subject=lot,
        detail={
            "packages": chosen,
            "of": packages,
            "seed": seed,
            "convention": convention,
            "numpy": np.__version__,
            "by": by.told(),
        },
    )
    return [int(one) for one in chosen]


def of_lot(cursor: Cursor, lot: str) -> list[dict[str, Any]]:
    """What was drawn of a lot, oldest first."""
    return [
        {**json.loads(detail), "by": actor, "at": at}
        for actor, at, detail in cursor.execute(
            "select actor, entered_at, detail from audit where action = ? and subject = ?"
            " order by sequence",
            [ACTION, lot],
        ).fetchall()
    ]
