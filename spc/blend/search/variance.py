"""The least variance of a blend, in lines that whole numbers can be optimised with.

The variance times the squared mass is a sum of squares: of what each lot brings of its own, and of
what the lots of each method share.  Each square u² has a part r in the model, and lines lie below
it.  Two things keep them close:

* a lot that is not used brings nothing, so with z for whether it is used, r is at least
  slope u - constant z: between used and not, that is u² / z, as if what is used by half were half
  as many lots that are used in full (Frangioni & Gentile 2006);
* what is taken of a lot in whole bags is a number of them and some of the opened one: across the
  gaps between, chords take the place of tangents, and leave nothing out.

The variance itself is a ratio to the squared mass W², which is 1 unless the batch may be off its
size or the window is on dry basis.  A recipe is then best if no other makes V - level W² negative,
its own variance taken as the level (Dinkelbach 1967).  W² is one number in a narrow range, laid out
in chords from `piece` to piece.

References
----------
Frangioni, A. & Gentile, C. (2006), Perspective cuts for a class of convex 0-1 mixed integer
programs, Mathematical Programming 106, 225-236 (from memory).
Dinkelbach, W. (1967), On nonlinear fractional programming, Management Science 13, 492-498.
"""

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from spc.blend.search.draft import Places

Floats = NDArray[np.float64]
# Of a line below a square: what is taken times what is squared, less a constant.
Line = tuple[float, float]

# A hair below a whole number of bags is that number.
WHOLE: Final = 1e-6
# Lines are laid up to that many times what the lots of such a blend bring on average.
BEYOND: Final = 3.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Variance:
    """The columns of a variance that is minimised.

    Attributes
    ----------
    place
        Index of the window.
    column
        Of the variance times the squared mass.
    parts : shape (lots + methods,)
        Column of each square.
    own, counted : shape (lots,)
        What a share of a lot adds to its square, and to the mass.
    shared : shape (methods, lots)
        What a share of a lot adds to each method's square.
    step, opened : shape (lots,)
        What a whole bag, and an opened one, add to what is squared; no step where any amount can be
        taken.
    most : shape (lots,)
        Most that can be squared.
    room : shape (1,) or (0,)
        Column of what the squared mass lacks of its largest; none where the mass is fixed.
    largest, smallest
        Of the squared mass.
    unit
        Of a deviation, in the unit of the window.
    """

    place: int
    column: int
    parts: Places
    own: Floats
    counted: Floats
    shared: Floats
    step: Floats
    opened: Floats
    most: Floats
    room: Places
    largest: float
    smallest: float
    unit: float

    def coordinates(self, shares: Floats) -> Floats:
        """Of each part, what is squared in it, shape (lots + methods,)."""
        return np.concatenate((self.own * shares, self.shared @ shares))

    def mass(self, shares: Floats) -> float:
        """Mass that the mean refers to."""
        return float(shares @ self.counted)

    def of(self, shares: Floats) -> float:
        """The variance."""
        return float(np.sum(self.coordinates(shares) ** 2)) / self.mass(shares) ** 2

    def line(self, part: int, at: float) -> Line:
        """The line below the square of a part that is highest at what is squared there."""
        step = float(self.step[part]) if part < self.step.size else 0.0
        if step > 0.0:
            bags = math.floor(at / step + WHOLE)
            before, after = bags * step + float(self.opened[part]), (bags + 1) * step
            if before * (1.0 - WHOLE) <= at < after:
                return before + after, before * after
        return 2.0 * at, at**2

    def rough_lines(self, lot: int, count: int) -> list[Line]:
        """Lines below the square of a lot, wherever it may be."""
        return self._lines(lot, float(self.most[lot]), float(self.most[lot]) / count)

    def close_lines(self, lot: int, shares: Floats, *, gap: float, count: int) -> list[Line]:
        """Lines below the square of a lot that leave out only a share of the variance.

        Parameters
        ----------
        lot
            Its index.
        shares : shape (lots,)
            A blend of about the least variance, whose lots are about as many.
        gap
            What may be left out of all squares, at most, as a share of the variance.
        count
            Most lines.

        Returns
        -------
        list of tuple
        """
        squares = float(np.sum(self.coordinates(shares) ** 2))
        typical = math.sqrt(squares / max(int(np.count_nonzero(shares)), 1))
        most = min(float(self.most[lot]), BEYOND * typical)
        # Half way between two tangents the square lies above both by a quarter of that, squared.
        return self._lines(lot, most, max(2.0 * math.sqrt(gap) * typical, most / count))

    def _lines(self, lot: int, most: float, apart: float) -> list[Line]:
        if most == 0.0:
            return []
        places = np.arange(apart / 2.0, most + apart / 2.0, apart)
        return list(dict.fromkeys(self.line(lot, float(at)) for at in places))

    def aimed(self, aim: Floats, level: float) -> Floats:
        """Coefficients whose value is `level` times `largest` where the variance is the level."""
        aimed = aim.copy()
        aimed[self.room] = level
        return aimed

    def bound(self, value: float, level: float) -> float:
        """No variance is below that, if no value of `aimed` is below this one."""
        short = level * self.largest - value
        if not self.room.size:
            return value / self.largest
        return max(0.0, level - short / (self.smallest if short > 0.0 else self.largest))
