"""Which readings decide a line, and what they say of it."""

from collections.abc import Sequence

from spc.acceptance.averages import judge_average
from spc.acceptance.evidence.evidence import Readings
from spc.acceptance.evidence.lines import LineVerdict, judge_absence, no_result
from spc.acceptance.evidence.lot_evidence import MOISTURE, LotEvidence
from spc.acceptance.evidence.samples import sample_means
from spc.acceptance.plan_lines import judge_planned
from spc.acceptance.specification import Line


def judge(line: Line, evidence: LotEvidence) -> LineVerdict:
    """One line of a specification against the evidence of a lot.

    Parameters
    ----------
    line
        Of any requirement.
    evidence
        Of one lot.

    Returns
    -------
    LineVerdict

    Raises
    ------
    InvalidInput
        If the line has no limit or an incomplete plan, or readings have a missing end.

    Notes
    -----
    Of several methods that may decide, the one whose lot mean is least uncertain decides an
    average, the one with most samples a plan, and every one of them absence and the samples that
    an average may not hide.

    References
    ----------
    JCGM 106:2012, 7 and 8, for averages.
    """
    own = evidence.own(line.characteristic)
    if not own:
        return no_result(line, why=f"No result of ours yet for {line.characteristic}.")
    deciding = evidence.deciding(line)
    if not deciding:
        return no_result(
            line,
            why=f"{line.characteristic} was measured by {own[0].method.method} only, a screening"
            " method, which must not decide this line.",
        )
    if line.requirement == "absent":
        return judge_absence(line, deciding)
    converted = evidence.on_basis_of(line, deciding)
    if not converted:
        return _other_basis(line, deciding)
    means = [evidence.mean(one, line) for one in converted]
    samples = [sample_means(one, scale=line.scale) for one in converted]
    if line.requirement == "average":
        return judge_average(line, min(means, key=lambda mean: mean.uncertainty), samples=samples)
    most = max(zip(means, samples, strict=True), key=lambda one: (one[1].size, -one[0].uncertainty))
    return judge_planned(line, most[1])


def _other_basis(line: Line, deciding: Sequence[Readings]) -> LineVerdict:
    """A line on a basis that none of the readings can be brought to."""
    limited = f"{line.characteristic} is limited on {line.basis} basis"
    if any(one.basis in ("as-is", "dry") for one in deciding):
        return no_result(
            line,
            why=f"{limited}, and the lot's own moisture is needed to convert the readings.",
            remedy=f"Measure {MOISTURE} of this lot.",
        )
    return no_result(
        line,
        why=f"{limited}, and the readings do not state theirs.",
        remedy="Ask the laboratory for the basis and state it in the source profile.",
    )
