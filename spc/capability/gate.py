"""When an index may be shown at all."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final, TypeVar

from spc.errors import InvalidInput, NoSpread, TooFewLots

Result = TypeVar("Result")

# With 25 lots the 95 % interval of Cpk is still a quarter to either side: a rule of the house.
FEWEST_LOTS: Final = 25


@dataclass(frozen=True, slots=True, kw_only=True)
class Withheld:
    """Why no index is given.

    Attributes
    ----------
    reason
        One sentence.
    remedy
        What would change it.
    """

    reason: str
    remedy: str


def gate(
    compute: Callable[[], Result], *, lots: int, signals: int, fewest: int = FEWEST_LOTS
) -> Result | Withheld:
    """A capability, or why it is withheld.

    Parameters
    ----------
    compute
        What would compute it, for example ``lambda: indices(x, lower=38_000)``; called only if
        the lots are enough and steady.
    lots
        Number of lots it would rest on.
    signals
        Number of them that the run rules of the stream's chart mark.
    fewest
        Lots below which no index is given.

    Returns
    -------
    Result of `compute`, or Withheld
        Withheld where lots are too few, the stream is unstable, or all lots are equal.

    Raises
    ------
    InvalidInput
        If `signals` is not between 0 and `lots`, or from `compute` for any other reason.

    Notes
    -----
    An index foretells future lots, and an unsteady stream has no future to foretell; few lots
    foretell it too poorly for one number to be read as if it were known.

    References
    ----------
    ISO 22514-1: capability is defined for a process in a state of statistical control.
    """
    if not 0 <= signals <= lots:
        raise InvalidInput(
            f"{signals} signals among {lots} lots are not possible.",
            where="capability",
            remedy="Count the lots that the rules mark.",
        )
    if lots < fewest:
        return Withheld(
            reason=f"{lots} lot{'' if lots == 1 else 's'} {'is' if lots == 1 else 'are'} too few"
            f" for a capability index; it needs {fewest}.",
            remedy="Wait for more lots; until then a tolerance interval says what is known.",
        )
    if signals:
        return Withheld(
            reason=f"The stream is not stable: {signals} of {lots} lots"
            f" {'is a signal' if signals == 1 else 'are signals'} on its chart.",
            remedy="Find what changed, and judge the lots since then.",
        )
    try:
        return compute()
    except (TooFewLots, NoSpread) as problem:
        return Withheld(reason=str(problem.what), remedy=problem.remedy)
