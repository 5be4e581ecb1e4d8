"""What waits today, in words."""

from collections.abc import Hashable, Mapping, Sequence
from typing import Any, Final

import pandas as pd

from dashboard.frame.signing_words import moment
from dashboard.frame.words import count, day, joined
from spc.acceptance import LotVerdict
from spc.store.people import Request

FOR_YOU: Final = "What waits for your signature"
ALONE: Final = "Done by one person, and to be countersigned by you"
RELEASED: Final = "Released over your hold"


CONFORMS: Final = "conforms"


def ready(number: int) -> str:
    """That routine lots can be accepted together."""
    return (
        f"{count(number, 'lot')} {'is' if number == 1 else 'are'} routine: all lines conform,"
        " nothing stands beside them"
    )


def routine_lot(row: Mapping[Hashable, Any]) -> str:
    """One routine lot to tick."""
    return f"{row['lot']}: {row['material']} from {row['supplier']}, {row['sentence']}"


def accept(number: int) -> str:
    """The button below the ticked lots."""
    return f"Accept {count(number, 'lot')}…" if number else "Accept…"


def released(hold: Request, over: Request) -> str:
    """That a lot somebody held was released, by whom and why."""
    who = joined([one.name for one in over.signatures])
    return (
        f"you held it ({hold.reason}); {who} released it on"
        f" {moment(over.signatures[-1].signed_at)}: {over.reason}"
    )


def today(
    waiting: pd.DataFrame, verdicts: Mapping[str, LotVerdict], *, held: int, moved: int
) -> str:
    """What waits, and why, in a few sentences."""
    if waiting.empty:
        first = "No lot waits for a decision."
    else:
        oldest = day(waiting["received_at"].min())
        first = (
            f"{count(len(waiting), 'lot')} {'waits' if len(waiting) == 1 else 'wait'} for a"
            f" decision, the oldest since {oldest}: {_split(list(verdicts.values()))}."
        )
        on_hold = int((waiting["decision"] != "").sum())
        if on_hold:
            first += f" {on_hold} of them {'is' if on_hold == 1 else 'are'} on hold by a decision."
    signals = (
        f" {count(moved, 'stream')} of the last 30 days"
        f" {'is' if moved == 1 else 'are'} unusual for {'its' if moved == 1 else 'their'} supplier."
        if moved
        else " No stream of the last 30 days is unusual for its supplier."
    )
    intake = (
        f" {count(held, 'row')} of received files {'is' if held == 1 else 'are'} held."
        if held
        else " No row is held."
    )
    return first + signals + intake


def _split(verdicts: Sequence[LotVerdict]) -> str:
    """How the waiting lots divide."""
    missing = sum(
        one.recommendation == "hold" and any(line.outcome == "no result" for line in one.lines)
        for one in verdicts
    )
    kinds = (
        (sum(one.recommendation == "reject" for one in verdicts), "should be rejected"),
        (
            sum(one.recommendation == "hold" for one in verdicts) - missing,
            "cannot be settled on the evidence there is",
        ),
        (missing, "still lack a result" if missing != 1 else "still lacks a result"),
        (sum(one.recommendation == "accept" for one in verdicts), "may be accepted"),
    )
    told = [f"{number} {words}" for number, words in kinds if number]
    return joined(told)


def files(names: pd.Series) -> str:
    """Where held rows are: the file, or how many files."""
    unique = list(dict.fromkeys(names))
    if len(unique) <= 2:
        return f"in {' and '.join(unique)}"
    return f"in {len(unique)} files, the last {unique[-1]}"
