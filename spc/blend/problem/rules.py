"""The rules of a blend beside its target: shares, number of lots, age, bags, scales."""

import math
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from spc.blend.problem.target import plain
from spc.digits import percent
from spc.errors import InvalidInput

ShareOf = Literal["each lot", "lot", "supplier", "origin", "material"]


@dataclass(frozen=True, slots=True, kw_only=True)
class ShareLimit:
    """Least and most share of the batch.

    Attributes
    ----------
    of
        ``"each lot"``: every lot that is used at all; else the one lot, supplier, origin or
        material of this `name`.
    name
        Empty for ``"each lot"``.
    least, most
        Shares of the batch, 0 to 1.  A `least` above zero asks for what it names.
    """

    of: ShareOf
    name: str = ""
    least: float = 0.0
    most: float = 1.0

    def __post_init__(self) -> None:
        if not 0.0 <= self.least <= self.most <= 1.0:
            raise InvalidInput(
                f"a share of at least {self.least:g} and at most {self.most:g} is contradictory.",
                where=self.subject,
                remedy="Give shares from 0 to 1, the least not above the most.",
            )
        if (self.of == "each lot") == bool(self.name):
            raise InvalidInput(
                f"the name {self.name!r} does not go with {self.of!r}.",
                where="share limit",
                remedy="Name the lot, supplier, origin or material; each lot has no name.",
            )

    @property
    def subject(self) -> str:
        """What is limited, in words."""
        return f"{self.of} {self.name}".strip()

    def sentence(self) -> str:
        """The limit in words."""
        if self.least > 0.0 and self.most < 1.0:
            return f"{self.subject} between {percent(self.least)} and {percent(self.most)}"
        if self.least > 0.0:
            return f"{self.subject} at least {percent(self.least)}"
        return f"{self.subject} at most {percent(self.most)}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Rules:
    """How a batch may be made up.

    Attributes
    ----------
    shares
        Limits of share.
    most_lots
        Most lots in the batch; None for any number.
    shelf_life_days
        The blend expires with the first of its lots; that many days at least.
    most_result_age_days
        Oldest result that may be relied on, of the characteristics in the target.
    leave_out
        Codes of lots that are not looked at.
    opened_first
        A lot's opened bag is used up before a whole bag of it is.
    batch_tolerance_kg
        How far the batch may be off its size, either way.
    weighing
        Relative standard uncertainty of the mass of a portion.
    """

    shares: Sequence[ShareLimit] = ()
    most_lots: int | None = None
    shelf_life_days: float | None = None
    most_result_age_days: float | None = None
    leave_out: Sequence[str] = ()
    opened_first: bool = False
    batch_tolerance_kg: float = 0.0
    weighing: float = 0.0

    def __post_init__(self) -> None:
        if self.most_lots is not None and self.most_lots < 1:
            raise _refused(
                f"at most {self.most_lots} lots make no batch.", "Allow one lot or more."
            )
        if not 0.0 <= self.weighing < 1.0:
            raise _refused(
                f"a relative uncertainty of weighing of {self.weighing:g} is not possible.",
                "Give a share of the portion's mass, zero or more and below 1.",
            )
        if not 0.0 <= self.batch_tolerance_kg < math.inf:
            raise _refused(
                f"a tolerance of {self.batch_tolerance_kg:g} kg is not possible.",
                "Give how far the batch may be off its size, in kg, zero or more.",
            )
        self._check_shares()

    @property
    def each_least(self) -> float:
        """Least share of a lot that is used."""
        return max((limit.least for limit in self.shares if limit.of == "each lot"), default=0.0)

    @property
    def each_most(self) -> float:
        """Most share of any lot."""
        return min((limit.most for limit in self.shares if limit.of == "each lot"), default=1.0)

    def _check_shares(self) -> None:
        asked: dict[str, float] = defaultdict(float)
        seen = set()
        for limit in self.shares:
            if limit.subject in seen:
                raise _refused(
                    f"{limit.subject} has two limits of share.", "Give its least and most in one."
                )
            seen.add(limit.subject)
            if limit.of != "each lot":
                asked[limit.of] += limit.least
        for of, share in asked.items():
            if share > 1.0 + 1e-12:
                raise _refused(
                    f"the shares asked for of each {of} add up to {percent(share)}.",
                    "Lower the least shares until they fit into one batch.",
                )
        named = sum(1 for limit in self.shares if limit.of == "lot" and limit.least > 0.0)
        if self.most_lots is not None and named > self.most_lots:
            raise _refused(
                f"{named} lots are asked for by name, but at most {self.most_lots} allowed.",
                "Allow more lots, or ask for fewer.",
            )
        if self.most_lots is not None and self.most_lots * self.each_most < 1.0 - 1e-12:
            raise _refused(
                f"{self.most_lots} lots of at most {percent(self.each_most)} make no whole batch.",
                "Allow more lots, or larger shares.",
            )


def batch_sentence(batch_kg: float, tolerance_kg: float) -> str:
    """The size of the batch in words."""
    about = f" ± {plain(tolerance_kg)}" if tolerance_kg else ""
    return f"a batch of {plain(batch_kg)}{about} kg"


def _refused(what: str, remedy: str) -> InvalidInput:
    return InvalidInput(what, where="rules of the blend", remedy=remedy)
