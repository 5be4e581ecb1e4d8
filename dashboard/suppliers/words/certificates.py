"""What is odd about certificates, which test said so, and what usually makes it."""

from collections.abc import Iterator, Mapping
from typing import Final

from dashboard.frame.words import count, day, listed
from dashboard.suppliers.words.differences import share, signed
from dashboard.suppliers.words.questions import RISK
from spc.answers.suppliers_compared import SuppliersCompared
from spc.charts import change_shape
from spc.compare.certificate_checks.certificate_comparison import CertificateComparison
from spc.compare.certificate_checks.certificate_patterns import Pattern, PatternName
from spc.compare.certificate_checks.coarse_rounding import CoarseRounding
from spc.digits import percent, written

# Common practice, no source.
CAUSES: Final[Mapping[PatternName, str]] = {
    "repeated values": (
        "a typical value, or that of the lot before, stands where this lot's should; ask for the"
        " laboratory's own report of each lot"
    ),
    "just inside the limit": (
        "lots tested again until one result passes, or a figure moved; a supplier who sorts out"
        " what lies beyond looks a little alike"
    ),
    "digit preference": "figures read off by eye, or put down by hand",
    "spread too small": (
        "one typical value, or the mean of several lots, stands for each; ask which sample it is of"
    ),
    "agreement too close": (
        "one was copied from the other; ask when the certificate was written, and look how our own"
        " result was entered"
    ),
}
# What rounding makes by itself.
_BY_ROUNDING: Final = ("repeated values", "digit preference")


def odd(told: SuppliersCompared, *, only: str = "") -> list[str]:
    """What stands out in certificates, a sentence or two each; empty where nothing does.

    Parameters
    ----------
    told
        Suppliers of one material, compared.
    only
        The one supplier to speak of; empty for all.
    """
    known = {
        name: one
        for name, one in told.belief.items()
        if isinstance(one, CertificateComparison) and only in ("", name)
    }
    rounding = told.roundings
    return [
        *_patterns(known, rounding),
        *_rounded(known, rounding, unit=told.found.unit),
        *_stepped(known, told),
    ]


def looked_for(told: SuppliersCompared) -> str:
    """How much was looked for, and with what risk."""
    known = [one for one in told.belief.values() if isinstance(one, CertificateComparison)]
    tested = sum(pattern.tested for one in known for pattern in one.patterns)
    if not tested:
        return "There are too few certificates to look for patterns in them."
    return (
        f"{count(tested, 'pattern')} looked for in the certificates of"
        f" {count(len(known), 'supplier')}. With an honest one, any stands out in 1 of 100; it is a"
        " reason to ask, not a proof."
    )


def explained(pattern: Pattern, rounding: CoarseRounding | None) -> bool:
    """Whether coarse rounding alone makes such a pattern."""
    return rounding is not None and pattern.name in _BY_ROUNDING


def _patterns(
    known: Mapping[str, CertificateComparison], rounding: Mapping[str, CoarseRounding | None]
) -> Iterator[str]:
    for name, found in known.items():
        for pattern in found.patterns:
            if pattern.stands_out and not explained(pattern, rounding[name]):
                yield (
                    f"{name}, {pattern.name}: {pattern.sentence} Honest certificates look so odd in"
                    f" {percent(pattern.p_value)} of cases ({pattern.test}). Likely cause:"
                    f" {CAUSES[pattern.name]}."
                )


def _rounded(
    known: Mapping[str, CertificateComparison],
    rounding: Mapping[str, CoarseRounding | None],
    *,
    unit: str,
) -> Iterator[str]:
    steps: dict[float, list[str]] = {}
    for name, found in known.items():
        coarse = rounding[name]
        if coarse is not None and any(
            one.stands_out and explained(one, coarse) for one in found.patterns
        ):
            steps.setdefault(coarse.step, []).append(name)
    for step, names in steps.items():
        yield (
            f"Certificates of {listed(names)} are mostly rounded to steps of"
            f" {written(step, unit=unit)}. That alone makes last digits uneven and values repeat"
            " (chi-squared test of last digits, simulated repeats): coarse, not dishonest."
        )


def _stepped(known: Mapping[str, CertificateComparison], told: SuppliersCompared) -> Iterator[str]:
    """Certificates that moved against own results from one lot on."""
    received = told.found.declared.set_index("lot")["received_at"]
    for name, found in known.items():
        change = found.change
        if change is None or change.p_value * len(told.belief) >= RISK:
            continue
        chance = f"against own results (change point, {percent(change.p_value)} by chance)."
        fits = change_shape(found.difference)
        place, ends, how = change.start, (change.before, change.after), "stepped at"
        if fits.shape == "ramp":
            ramp = fits.models["ramp"]
            place, ends, how = ramp.places[0], (ramp.first, ramp.last), "have drifted since"
        lot = f"lot {found.lot[place]} of {day(received[str(found.lot[place])])}"
        before, after = (signed(share(one, told), told) for one in ends)
        if fits.shape in ("step", "ramp"):
            yield (
                f"Certificates of {name} most likely {how} {lot}, from {before} to {after} {chance}"
            )
        else:
            yield (
                f"Certificates of {name} look as if they had moved at {lot}, from {before} to"
                f" {after} {chance} Whether by a step, a drift or single lots apart is not settled."
            )
