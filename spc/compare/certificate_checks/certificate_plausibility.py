"""All patterns that are looked for in one supplier's certificates."""

import numpy as np

from spc.compare.certificate_checks.certificate_pairs import CertificatePairs
from spc.compare.certificate_checks.certificate_patterns import Pattern, judged
from spc.compare.certificate_checks.declared_spread import agreement_too_close, spread_too_small
from spc.compare.certificate_checks.digit_preference import digit_preference
from spc.compare.certificate_checks.inside_limits import just_inside
from spc.compare.certificate_checks.lot_spread import lot_spread
from spc.compare.certificate_checks.printed_digits import printed_digits
from spc.compare.certificate_checks.repeated_values import repeated_values
from spc.errors import InvalidInput


def suspicious_patterns(
    pairs: CertificatePairs, *, lower: float, upper: float
) -> tuple[Pattern, ...]:
    """Look for what honest certificates seldom show.

    Parameters
    ----------
    pairs
        Certificates of one characteristic of one material from one supplier, in its own unit.
    lower, upper
        Limits of the specification on the scale of the pairs; infinite where there is none.

    Returns
    -------
    tuple of Pattern
        All five, those too of which nothing can be said.

    Raises
    ------
    InvalidInput
        If a printed value is no plain decimal, or not the value declared.

    Notes
    -----
    A pattern that stands out is a reason to ask, not a proof: values copied from the lot before
    and values rounded by a cautious clerk look alike.
    """
    paired = pairs.paired()
    spread, digits = lot_spread(paired), printed_digits(pairs.printed)
    other = np.flatnonzero(~np.isclose(digits.value, pairs.declared, rtol=1e-9, atol=0.0))
    if other.size:
        raise InvalidInput(
            f"{pairs.printed[other[0]]!r} is printed for lot {pairs.lot[other[0]]}, and"
            f" {pairs.declared[other[0]]:g} declared.",
            where="certificates",
            remedy="Give declared values in the unit and on the basis that they are printed on.",
        )
    return judged(
        (
            repeated_values(pairs, digits, spread=spread.between),
            just_inside(paired, spread, lower=lower, upper=upper),
            digit_preference(pairs, digits),
            spread_too_small(paired, spread),
            agreement_too_close(paired),
        )
    )
