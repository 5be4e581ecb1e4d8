"""How many examples of a property came to what it asserts: a filter must not leave next to none."""

from dataclasses import dataclass

import pytest


@dataclass
class Tally:
    """Examples of the test that runs now."""

    tried: int = 0
    counted: int = 0

    def refuse_few(self, share: float) -> None:
        """Fail unless at least this share of the examples counted."""
        if self.tried == 0 or self.counted < share * self.tried:
            pytest.fail(
                f"{self.counted} of {self.tried} examples came to the assertion, fewer than"
                f" {share:.0%}: draw nearer to where it counts."
            )


now = Tally()


def counts(reached: bool) -> bool:
    """Note one example, and whether it comes to the assertion; gives that back."""
    now.tried += 1
    now.counted += reached
    return reached


def begin() -> None:
    """Forget the test before."""
    now.tried = now.counted = 0
