"""Every flag that stands beside the lines of one lot."""

from collections.abc import Iterable, Sequence

from spc.acceptance.evidence import flags, plausibility, scatter, timeliness
from spc.acceptance.evidence.basis import on_basis
from spc.acceptance.evidence.evidence import Readings
from spc.acceptance.evidence.flags import Flag
from spc.acceptance.evidence.lines import LineVerdict
from spc.acceptance.evidence.lot_evidence import LotEvidence, may_decide
from spc.acceptance.specification import Specification


def flags_beside(
    lines: Sequence[LineVerdict], evidence: LotEvidence, specification: Specification
) -> Iterable[Flag]:
    """What a person should know before signing, line by line.

    Parameters
    ----------
    lines
        As judged.
    evidence
        Of the same lot.
    specification
        With the days within which results are due and valid, and the moisture to be expected.

    Returns
    -------
    iterable of Flag
        In the order of the lines; some may be said twice.
    """
    for judged in lines:
        yield from _of_time(judged, evidence, specification)
        for readings in evidence.of(judged.line.characteristic):
            yield from _of_readings(readings, judged, evidence)
    water = evidence.moisture
    if water is not None:
        yield from plausibility.moisture(water, expected=specification.plausible_moisture)


def _of_time(
    judged: LineVerdict, evidence: LotEvidence, specification: Specification
) -> Iterable[Flag]:
    yield from timeliness.overdue(
        judged, waiting_days=evidence.waiting_days, due_days=specification.due_days
    )
    deciding = evidence.deciding(judged.line)
    if judged.mean is not None:
        by = judged.mean.method.method
        deciding = [one for one in deciding if one.method.method == by]
    yield from timeliness.aged(judged, deciding, valid_days=specification.valid_days)
    yield from timeliness.again(judged.line.characteristic, evidence.retests)


def _of_readings(readings: Readings, judged: LineVerdict, evidence: LotEvidence) -> Iterable[Flag]:
    line = judged.line
    own = readings.method.standing != "declared"
    if line.safety and not (own and may_decide(readings, line)):
        yield from flags.adverse(readings, line)
    if not own:
        return
    yield from flags.unusual(readings.characteristic, evidence.past(readings))
    yield from flags.above_range(readings)
    yield from scatter.replicates(readings, scale=line.scale)
    if line.requirement == "absent":
        return
    yield from scatter.outlying_means(readings, scale=line.scale)
    yield from scatter.outlying_spread(readings, scale=line.scale)
    yield from _against_expectation(readings, judged, evidence)


def _against_expectation(
    readings: Readings, judged: LineVerdict, evidence: LotEvidence
) -> Iterable[Flag]:
    """Compare a result with the certificate and with what is usual, on the basis it came on."""
    own, water = evidence.mean(readings, judged.line), evidence.moisture
    for other in evidence.of(readings.characteristic):
        if other.method.standing == "declared":
            # What cannot be converted is compared as it stands: a slip shows on any basis.
            alike = on_basis(other, readings.basis, moisture=water) or other
            declared = evidence.mean(alike, judged.line)
            yield from flags.certificate(own, declared)
            if not declared.is_open:
                yield from flags.slip(own, expected=declared.value, by="the certificate")
    usual = evidence.past(readings).usual
    yield from flags.slip(own, expected=usual, by="usual for this supplier is")
