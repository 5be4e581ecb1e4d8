"""When a lot was measured: too late, too long ago, or more often than once."""

from collections.abc import Iterable, Mapping, Sequence

import numpy as np

from spc.acceptance.evidence.evidence import Readings
from spc.acceptance.evidence.flags import Flag
from spc.acceptance.evidence.lines import LineVerdict


def overdue(
    judged: LineVerdict, *, waiting_days: int | None, due_days: int | None
) -> Iterable[Flag]:
    """A line has no result, and the lot has waited longer than it should.

    Parameters
    ----------
    judged
        The line.
    waiting_days
        Days since the lot was received; None where it does not wait for a decision.
    due_days
        Days within which results are due; None where nobody is pressed.

    Returns
    -------
    iterable of Flag
        One at most.
    """
    if judged.outcome != "no result" or waiting_days is None or due_days is None:
        return
    if waiting_days > due_days:
        yield Flag(
            name="result overdue",
            sentence=f"{judged.line.characteristic}: no result that may decide yet, and the lot"
            f" has waited {_days(waiting_days)}; results are due within {_days(due_days)}.",
        )


def aged(
    judged: LineVerdict, deciding: Sequence[Readings], *, valid_days: int | None
) -> Iterable[Flag]:
    """The newest result behind a line is older than results of this material stay valid.

    Parameters
    ----------
    judged
        The line, with a result.
    deciding
        Readings of the methods that decided it.
    valid_days
        Days for which a result says what the lot is; None where it does not age.

    Returns
    -------
    iterable of Flag
        One at most; nothing where no day of measurement is known.
    """
    ages = [one.age_days[np.isfinite(one.age_days)] for one in deciding if one.age_days is not None]
    known = np.concatenate(ages) if ages else np.empty(0)
    if valid_days is None or known.size == 0 or known.min() <= valid_days:
        return
    yield Flag(
        name="result aged",
        sentence=f"{judged.line.characteristic}: the newest result is {_days(int(known.min()))}"
        f" old, and results of this material stand for {_days(valid_days)}; measure again before"
        " relying on it.",
    )


def again(characteristic: str, retests: Mapping[tuple[str, str], int]) -> Iterable[Flag]:
    """A characteristic was measured on more than one day by one method.

    Parameters
    ----------
    characteristic
        Of the line.
    retests
        By characteristic and method: on how many days beyond the first it was measured.

    Returns
    -------
    iterable of Flag
        One a method.

    Notes
    -----
    Repeating a test until it passes shows as a number, whatever became of the earlier results.
    """
    for (measured, method), count in retests.items():
        if measured == characteristic and count > 0:
            yield Flag(
                name="measured again",
                sentence=f"{characteristic}: measured on {count + 1} days by {method}, so"
                f" {count} retest{'s' if count != 1 else ''}. Every result is kept; see why it was"
                " measured again.",
            )


def _days(count: int) -> str:
    return f"{count} day{'s' if count != 1 else ''}"
