"""A lot against its specification: every line, what stands beside them, and what to do."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final, Literal

from spc.acceptance import flags as beside
from spc.acceptance.evidence import LotMean, Readings, Within, lot_mean, on_basis
from spc.acceptance.flags import Flag, History
from spc.acceptance.lines import LineVerdict, judge_absence, judge_average, no_result, odds
from spc.acceptance.specification import Line, Specification

Recommendation = Literal["accept", "hold", "reject"]

MOISTURE: Final = "moisture"
_UNKNOWN: Final = History(within=Within(sigma=float("nan"), degrees=0))


@dataclass(frozen=True, slots=True, kw_only=True)
class LotVerdict:
    """What the evidence says of a lot; a named person decides.

    Attributes
    ----------
    lines
        One verdict a line, in the order of the specification.
    flags
        What stands beside them.
    recommendation
        The worst line's: reject, hold, or accept.
    sentence
        Why, in one plain sentence.
    """

    specification: Specification
    lines: tuple[LineVerdict, ...]
    flags: tuple[Flag, ...]
    recommendation: Recommendation
    sentence: str


def verdict(
    results: Sequence[Readings],
    specification: Specification,
    *,
    history: Mapping[tuple[str, str], History] | None = None,
    planning_cv: float | None = None,
    untaken: Sequence[str] = (),
) -> LotVerdict:
    """Judge a lot by every line of its specification.

    Parameters
    ----------
    results
        The lot's current readings, one entry a characteristic and method.
    specification
        The version in force when the lot was received.
    history
        By characteristic and method: what the supplier's other lots tell.
    planning_cv
        Relative spread between samples of one lot to plan with while history is short.
    untaken
        Sentences about rows that name this lot and could not be taken in.

    Returns
    -------
    LotVerdict
        A verdict a line, flags, and a recommendation with its sentence.

    Raises
    ------
    InvalidInput
        If a line has no limit, or readings have a missing end.

    Notes
    -----
    Where several admissible methods measured a line, the one whose lot mean is least uncertain
    decides; certificates never do.

    References
    ----------
    JCGM 106:2012, 7 and 8.3, for lines that limit the lot mean.
    """
    known = history or {}
    evidence = _Evidence(results=results, history=known, planning_cv=planning_cv)
    lines = tuple(_judge(line, evidence) for line in specification.lines)
    held = [Flag(name="rows held at intake", sentence=told) for told in untaken]
    flags = beside.with_policy([*_flags(lines, evidence), *held], specification.hold_on)
    recommendation = _recommendation(lines, flags)
    return LotVerdict(
        specification=specification,
        lines=lines,
        flags=flags,
        recommendation=recommendation,
        sentence=_sentence(recommendation, lines, flags),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Evidence:
    """The readings of one lot with what is known around them."""

    results: Sequence[Readings]
    history: Mapping[tuple[str, str], History]
    planning_cv: float | None

    def of(self, characteristic: str) -> list[Readings]:
        return [one for one in self.results if one.characteristic == characteristic]

    def past(self, readings: Readings) -> History:
        return self.history.get((readings.characteristic, readings.method.method), _UNKNOWN)

    def mean(self, readings: Readings, line: Line) -> LotMean:
        return lot_mean(
            readings,
            scale=line.scale,
            within=self.past(readings).within,
            planning_cv=self.planning_cv if readings.method.relative else None,
        )

    def moisture(self) -> LotMean | None:
        own = [one for one in self.of(MOISTURE) if one.method.standing != "declared"]
        if not own:
            return None
        line = Line(characteristic=MOISTURE, unit=own[0].unit, scale="linear")
        return min((self.mean(one, line) for one in own), key=lambda mean: mean.uncertainty)


def _judge(line: Line, evidence: _Evidence) -> LineVerdict:
    own = [one for one in evidence.of(line.characteristic) if one.method.standing != "declared"]
    if not own:
        return no_result(line, why=f"No result of ours yet for {line.characteristic}.")
    deciding = [one for one in own if _may_decide(one, line)]
    if not deciding:
        return no_result(
            line,
            why=f"{line.characteristic} was measured by {own[0].method.method} only, a screening"
            " method, which must not decide this line.",
        )
    if line.requirement == "absent":
        return judge_absence(line, deciding)
    means = _means(line, deciding, evidence)
    if not means:
        return _other_basis(line, deciding)
    return judge_average(line, min(means, key=lambda mean: mean.uncertainty))


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


def _may_decide(readings: Readings, line: Line) -> bool:
    guarded = line.safety or line.reference_method_only
    return not (guarded and readings.method.screening)


def _means(line: Line, readings: Iterable[Readings], evidence: _Evidence) -> list[LotMean]:
    water = evidence.moisture()
    converted = (on_basis(one, line.basis, moisture=water) for one in readings)
    return [evidence.mean(one, line) for one in converted if one is not None]


def _flags(lines: Sequence[LineVerdict], evidence: _Evidence) -> Iterable[Flag]:
    for judged in lines:
        for readings in evidence.of(judged.line.characteristic):
            own = readings.method.standing != "declared"
            if judged.line.safety and not (own and _may_decide(readings, judged.line)):
                yield from beside.adverse(readings, judged.line)
            if own:
                yield from beside.unusual(readings.characteristic, evidence.past(readings))
                yield from beside.above_range(readings)
                yield from beside.replicates(readings, scale=judged.line.scale)
                yield from _against_expectation(readings, judged, evidence)


def _against_expectation(
    readings: Readings, judged: LineVerdict, evidence: _Evidence
) -> Iterable[Flag]:
    """Compare a result with the certificate and with what is usual, on the basis it came on."""
    if judged.line.requirement != "average":
        return
    own, water = evidence.mean(readings, judged.line), evidence.moisture()
    for other in evidence.of(readings.characteristic):
        if other.method.standing == "declared":
            # What cannot be converted is compared as it stands: a slip shows on any basis.
            alike = on_basis(other, readings.basis, moisture=water) or other
            declared = evidence.mean(alike, judged.line)
            yield from beside.certificate(own, declared)
            if not declared.is_open:
                yield from beside.slip(own, expected=declared.value, by="the certificate")
    usual = evidence.past(readings).usual
    yield from beside.slip(own, expected=usual, by="usual for this supplier is")


def _recommendation(lines: Sequence[LineVerdict], flags: Sequence[Flag]) -> Recommendation:
    outcomes = {judged.outcome for judged in lines}
    if "not conforming" in outcomes:
        return "reject"
    if outcomes & {"undecided", "no result"} or not lines or any(one.holds for one in flags):
        return "hold"
    return "accept"


def _sentence(
    recommendation: Recommendation, lines: Sequence[LineVerdict], flags: Sequence[Flag]
) -> str:
    failing = [judged.reason for judged in lines if judged.outcome == "not conforming"]
    if failing:
        return f"Reject: {' '.join(failing)}"
    if recommendation == "accept":
        return _accepting(lines, flags)
    return _holding(lines, flags)


def _holding(lines: Sequence[LineVerdict], flags: Sequence[Flag]) -> str:
    if not lines:
        return "Hold: the specification has no lines, so there is nothing to judge the lot by."
    open_lines = [
        f"{judged.reason} {judged.remedy}" for judged in lines if judged.outcome == "undecided"
    ]
    missing = [j.line.characteristic for j in lines if j.outcome == "no result"]
    if missing:
        open_lines.append(f"No result that may decide yet for {_listed(missing)}.")
        open_lines += [one.sentence for one in flags if one.name == "rows held at intake"]
    if not open_lines:
        open_lines = [one.sentence for one in flags if one.holds]
    return f"Hold: {' '.join(open_lines)}"


def _accepting(lines: Sequence[LineVerdict], flags: Sequence[Flag]) -> str:
    count = f"all {len(lines)} lines conform" if len(lines) > 1 else "its one line conforms"
    noted = f" To note: {_listed([one.name for one in flags])}." if flags else ""
    return f"Accept: {count}{_tightest(lines)}.{noted}"


def _tightest(lines: Sequence[LineVerdict]) -> str:
    """The measured line that conforms with least to spare; absence has no more or less."""
    measured = [(one.probability[0], one.line, one.mean) for one in lines if one.mean is not None]
    if not measured:
        return ""
    chance, line, mean = min(measured, key=lambda one: one[0])
    return f"; the tightest is {line.characteristic} (chance of conforming {odds(mean, chance)})"


def _listed(names: Sequence[str]) -> str:
    unique = list(dict.fromkeys(names))
    return unique[0] if len(unique) == 1 else f"{', '.join(unique[:-1])} and {unique[-1]}"
