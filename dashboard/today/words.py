"""What waits today, in words."""

from collections.abc import Hashable, Mapping, Sequence
from typing import Any, Final

import pandas as pd

from dashboard.frame.signing_words import moment
from dashboard.frame.upkeep import Run, Told
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


def job(told: Sequence[Told], name: str) -> Told:
    """How it stands with one of the server's jobs."""
    return next(one for one in told if one.job == name)


def wrong(verify: Told) -> str:
    """What the last check of the record found; empty where nothing was wrong."""
    last = verify.last
    if last is None or last.good:
        return ""
    return (
        f"The record may not be as it was written: {last.said} `lotheat verify` lists everything;"
        " keep a copy of the file as it is, and find out who changed it."
    )


def verified(verify: Told, anchor: Told, *, anchors: str) -> str:
    """When the record was last checked and by whom, and where its anchor is kept."""
    if verify.busy:
        first = "The record is being verified."
    elif verify.last is None:
        first = f"It is verified {verify.when}, next {moment(verify.upcoming)}."
    else:
        first = f"Last verified {moment(verify.last.ended)}{_asked(verify.last)}."
        if verify.last.good:
            said = verify.last.said
            first += f" {said[:1].upper()}{said[1:]}"
    last = anchor.last
    kept = "" if last is None else f" The last anchor, of {moment(last.ended)}, is kept {anchors}."
    return first + kept


def ran(one: Told) -> str:
    """When a job runs, what it did last, and when it failed last if that was another time."""
    sentences = [f"{one.when}, next {moment(one.upcoming)}."]
    if one.last is not None:
        sentences.append(f"Last {_ran(one.last)}")
    if one.failed is not None and one.failed != one.last:
        sentences.append(f"It last failed {_ran(one.failed)}")
    return " ".join(sentences)


def _ran(run: Run) -> str:
    mark = "" if run.good else "failed: "
    return f"{moment(run.began)}{_asked(run)}: {mark}{run.said}"


def _asked(run: Run) -> str:
    return f", asked for by {run.by}" if run.by else ""
