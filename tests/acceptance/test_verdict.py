import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from spc.acceptance import History, Line, Within, verdict
from spc.digits import THIN
from spc.errors import InvalidInput
from tests.acceptance.conftest import BALANCE, SENSOR, specification
from tests.reached import counts

INF = math.inf
HEAT = Line(
    characteristic="heat", unit="SHU", scale="log", lower=38_000.0, upper=55_000.0, basis="as-is"
)
AFLATOXIN = Line(
    characteristic="aflatoxin B1", unit="µg/kg", scale="log", upper=5.0, basis="as-is", safety=True
)
SALMONELLA = Line(
    characteristic="Salmonella", unit="in 25 g", scale="linear", requirement="absent", safety=True
)
MOISTURE = Line(characteristic="moisture", unit="g/100 g", scale="linear", upper=12.0)
CERTIFICATE = replace(
    SENSOR, method="supplier certificate", standing="declared", standard_uncertainty=0.08
)
PLATE = replace(BALANCE, method="plate count", standard_uncertainty=0.0, repeatability=0.0)
KNOWN = Within(sigma=0.05, degrees=30)
ONE_LINE = "its one line conforms"


def history(*keys, **other):
    return {key: History(**({"within": KNOWN} | other)) for key in keys}


USUAL = history(
    ("heat", "liquid chromatography"),
    ("heat", "rapid sensor"),
    ("aflatoxin B1", "liquid chromatography"),
)


def plain(text):
    return text.replace(THIN, " ")


@pytest.fixture
def aflatoxin(readings):
    def make(*values, **other):
        around = {"characteristic": "aflatoxin B1", "unit": "µg/kg"}
        return readings(*values, **(around | other))

    return make


@pytest.fixture
def salmonella(readings):
    def make(*values, method=PLATE):
        return readings(
            *values, characteristic="Salmonella", unit="in 25 g", basis="", method=method
        )

    return make


@pytest.fixture
def moisture(readings):
    def make(*values, method=BALANCE):
        return readings(*values, characteristic="moisture", unit="g/100 g", basis="", method=method)

    return make


class TestAccepted:
    def test_a_lot_well_inside_its_limits(self, readings):
        lot = verdict([readings(45_000.0, 46_000.0)], specification(HEAT), history=USUAL)

        (line,) = lot.lines
        assert (lot.recommendation, line.outcome, line.remedy) == ("accept", "conforming", "")
        assert min(line.probability) > 0.99
        assert plain(line.reason).startswith("heat 45 500 SHU as-is by liquid chromatography")
        assert "conforms to 38 000 to 55 000 SHU (chance of conforming over 99.9 %)" in plain(
            line.reason
        )

    def test_aflatoxin_all_below_quantification(self, aflatoxin):
        lot = verdict(
            [aflatoxin(low=[0.0] * 6, high=[0.5] * 6)], specification(AFLATOXIN), history=USUAL
        )

        (line,) = lot.lines
        assert lot.recommendation == "accept"
        assert "below 0.500 µg/kg" in line.reason
        assert "at most 5 µg/kg (chance of conforming over 99.9 %)" in line.reason

    def test_salmonella_not_detected(self, salmonella):
        lot = verdict([salmonella(0.0, 0.0, 0.0, 0.0, 0.0)], specification(SALMONELLA))

        (line,) = lot.lines
        assert lot.recommendation == "accept"
        assert line.probability == (1.0, 1.0)
        assert line.reason == "Salmonella: not detected in 5 tests (in 25 g)."
        assert lot.sentence == f"Accept: {ONE_LINE}."

    def test_the_sentence_names_the_line_with_least_to_spare(
        self, readings, aflatoxin, salmonella, moisture
    ):
        lot = verdict(
            [readings(45_000.0), aflatoxin(1.0), salmonella(0.0), moisture(9.0)],
            specification(SALMONELLA, AFLATOXIN, HEAT, MOISTURE),
            history=USUAL,
        )

        assert lot.sentence.startswith("Accept: all 4 lines conform; the tightest is heat (")
        assert [line.line for line in lot.lines] == list(lot.specification.lines)

    def test_only_an_exact_value_conforms_for_certain(self, moisture):
        exact = replace(BALANCE, standard_uncertainty=0.0, repeatability=0.0)

        lot = verdict([moisture(9.0, method=exact)], specification(MOISTURE))

        assert "(chance of conforming 100 %)" in lot.sentence


class TestRejected:
    def test_aflatoxin_above_its_limit(self, readings, aflatoxin):
        lot = verdict(
            [readings(45_000.0), aflatoxin(9.1, 8.4)],
            specification(HEAT, AFLATOXIN),
            history=USUAL,
        )

        assert lot.recommendation == "reject"
        assert lot.sentence == f"Reject: {lot.lines[1].reason}"
        assert "does not conform to at most 5 µg/kg" in lot.sentence
        assert "chance of conforming under 0.1 %" in lot.sentence

    def test_salmonella_detected_once(self, salmonella):
        lot = verdict([salmonella(0.0, 0.0, 1.0, 0.0, 0.0)], specification(SALMONELLA))

        (line,) = lot.lines
        assert lot.recommendation == "reject"
        assert line.probability == (0.0, 0.0)
        assert line.reason == "Salmonella: detected in 1 of 5 tests (in 25 g)."

    def test_salmonella_detected_by_one_of_two_laboratories(self, salmonella):
        other = replace(PLATE, method="second laboratory")

        lot = verdict([salmonella(0.0), salmonella(1.0, method=other)], specification(SALMONELLA))

        assert lot.recommendation == "reject"
        assert "1 of 2" in lot.sentence

    @pytest.mark.parametrize("heat", [30_000.0, 70_000.0])
    def test_heat_on_either_side_of_its_limits(self, readings, heat):
        lot = verdict([readings(heat, heat)], specification(HEAT), history=USUAL)

        assert lot.recommendation == "reject"

    def test_a_failing_line_outweighs_an_open_one(self, readings):
        lot = verdict([readings(30_000.0)], specification(HEAT, SALMONELLA), history=USUAL)

        assert lot.recommendation == "reject"
        assert "Salmonella" not in lot.sentence

    def test_nothing_found_is_too_little_heat_by_any_method(self, readings):
        """No logarithm and no share of it either: the lot must not slip through as conforming."""
        absolute = replace(PLATE, method="titration", standard_uncertainty=500.0)

        lot = verdict([readings(0.0, method=absolute)], specification(HEAT), history=USUAL)

        assert lot.recommendation == "reject"


class TestHeld:
    def test_a_lot_just_inside_its_limit_until_more_samples_settle_it(self, readings):
        lot = verdict([readings(40_000.0)], specification(HEAT), history=USUAL)

        (line,) = lot.lines
        assert (lot.recommendation, line.outcome) == ("hold", "undecided")
        # By hand: ln(40/38) / 1.645 = 3.12 % against the method's 2.5 %, so 5 % / √n must be at
        # most 1.87 %: eight samples, of which one is drawn.
        assert line.remedy == (
            "About 7 more samples would settle it if the mean stays where it is."
        )
        assert lot.sentence == f"Hold: {line.reason} {line.remedy}"
        assert "is not settled against 38 000 to 55 000 SHU" in plain(lot.sentence)

    def test_the_samples_asked_for_do_settle_it(self, readings):
        lot = verdict([readings(*[40_000.0] * 8)], specification(HEAT), history=USUAL)

        assert lot.recommendation == "accept"

    def test_one_sample_more_is_one_sample(self, readings):
        lot = verdict([readings(*[40_000.0] * 6)], specification(HEAT), history=USUAL)

        assert "About 1 more sample would settle it" in lot.sentence

    def test_a_lot_that_only_a_better_method_can_settle(self, readings):
        lot = verdict(
            [readings(*[40_000.0] * 8, method=SENSOR)], specification(HEAT), history=USUAL
        )

        assert lot.recommendation == "hold"
        assert "No number of further samples would settle it" in lot.sentence
        assert "rapid sensor itself is too large" in lot.sentence

    def test_a_lot_too_close_to_the_limit_for_any_sensible_number_of_samples(self, moisture):
        exact = replace(BALANCE, standard_uncertainty=0.0)
        known = {("moisture", "moisture balance"): History(within=Within(sigma=1.0, degrees=20))}

        lot = verdict([moisture(11.99, method=exact)], specification(MOISTURE), history=known)

        assert "more than 200 samples" in lot.sentence
        assert "too close to the limit" in lot.sentence

    def test_a_line_without_any_result(self, readings):
        lot = verdict([readings(45_000.0)], specification(HEAT, AFLATOXIN), history=USUAL)

        _, line = lot.lines
        assert (lot.recommendation, line.outcome) == ("hold", "no result")
        assert math.isnan(line.probability[0])
        assert line.remedy == "Measure aflatoxin B1 by an admissible method."
        assert lot.sentence == "Hold: No result that may decide yet for aflatoxin B1."

    def test_several_lines_without_result_are_listed(self):
        lot = verdict([], specification(HEAT, AFLATOXIN, SALMONELLA))

        assert "for heat, aflatoxin B1 and Salmonella." in lot.sentence

    def test_a_specification_without_lines_accepts_nothing(self, readings):
        lot = verdict([readings(45_000.0)], specification())

        assert lot.recommendation == "hold"
        assert "nothing to judge the lot by" in lot.sentence


class TestWhoMayDecide:
    def test_certificates_never_decide(self, readings):
        lot = verdict([readings(45_000.0, method=CERTIFICATE)], specification(HEAT))

        assert lot.lines[0].outcome == "no result"
        assert lot.lines[0].reason == "No result of ours yet for heat."

    @pytest.mark.parametrize(
        "line", [replace(HEAT, safety=True), replace(HEAT, reference_method_only=True)]
    )
    @pytest.mark.parametrize("heat", [45_000.0, 20_000.0])
    def test_a_screening_method_decides_no_guarded_line_either_way(self, readings, line, heat):
        lot = verdict([readings(heat, method=SENSOR)], specification(line), history=USUAL)

        assert lot.lines[0].outcome == "no result"
        assert "rapid sensor only, a screening method" in lot.lines[0].reason
        assert lot.recommendation == "hold"

    def test_a_screening_method_decides_a_line_that_is_not_guarded(self, readings):
        lot = verdict([readings(45_000.0, method=SENSOR)], specification(HEAT), history=USUAL)

        assert lot.recommendation == "accept"

    @pytest.mark.parametrize("sensor_first", [True, False])
    def test_the_least_uncertain_method_decides(self, readings, sensor_first):
        both = [readings(42_000.0, method=SENSOR), readings(45_000.0)]

        lot = verdict(both if sensor_first else both[::-1], specification(HEAT), history=USUAL)

        assert lot.lines[0].mean is not None
        assert lot.lines[0].mean.method.method == "liquid chromatography"

    def test_the_plan_for_a_new_supplier_widens_what_one_sample_says(self, readings):
        without = verdict([readings(42_000.0)], specification(HEAT))
        planned = verdict([readings(42_000.0)], specification(HEAT), planning_cv=0.10)

        assert (without.recommendation, planned.recommendation) == ("accept", "hold")


class TestBasis:
    DRY = replace(HEAT, basis="dry")

    def test_a_line_on_dry_basis_is_judged_by_the_lot_s_own_moisture(self, readings, moisture):
        lot = verdict([readings(41_000.0), moisture(9.0)], specification(self.DRY), history=USUAL)

        (line,) = lot.lines
        assert line.mean is not None
        assert line.mean.value == pytest.approx(41_000.0 / 0.91)
        assert "45 100 SHU dry by" in plain(line.reason)

    def test_without_moisture_it_has_no_result(self, readings):
        lot = verdict([readings(41_000.0)], specification(self.DRY), history=USUAL)

        (line,) = lot.lines
        assert line.outcome == "no result"
        assert "limited on dry basis, and the lot's own moisture is needed" in line.reason
        assert line.remedy == "Measure moisture of this lot."

    def test_the_supplier_s_word_on_moisture_does_not_count(self, readings, moisture):
        lot = verdict(
            [readings(41_000.0), moisture(9.0, method=CERTIFICATE)],
            specification(self.DRY),
            history=USUAL,
        )

        assert lot.lines[0].outcome == "no result"

    def test_the_better_of_two_moistures_is_taken(self, readings, moisture):
        rough = replace(BALANCE, method="rough", standard_uncertainty=2.0)

        lot = verdict(
            [readings(41_000.0), moisture(20.0, method=rough), moisture(9.0)],
            specification(self.DRY),
            history=USUAL,
        )

        assert lot.lines[0].mean is not None
        assert lot.lines[0].mean.value == pytest.approx(41_000.0 / 0.91)

    def test_readings_of_unstated_basis_need_their_basis_and_no_moisture(self, readings, moisture):
        lot = verdict(
            [readings(41_000.0, basis="unstated"), moisture(9.0)],
            specification(self.DRY),
            history=USUAL,
        )

        (line,) = lot.lines
        assert "the readings do not state theirs" in line.reason
        assert "Ask the laboratory for the basis" in line.remedy


class TestOpenReadings:
    def test_one_above_range_leaves_a_range_of_chances(self, readings):
        above = readings(low=[36_000.0] * 2, high=[36_000.0, INF])

        lot = verdict([above], specification(replace(HEAT, upper=None)), history=USUAL)

        (line,) = lot.lines
        low, high = line.probability
        assert low < 0.5 < high == 1.0
        assert line.outcome == "undecided"
        assert "above 36 " in plain(line.reason)
        assert "% to over 99.9 %)" in line.reason
        assert "dilute so that they fall inside it" in line.remedy

    def test_between_two_limits_the_best_chance_may_lie_inside_the_interval(self, readings):
        wide = readings(low=[20_000.0], high=[90_000.0])

        lot = verdict([wide], specification(HEAT), history=USUAL)

        low, high = lot.lines[0].probability
        assert low < 1e-6
        assert high > 0.99
        assert lot.recommendation == "hold"

    def test_above_range_and_above_the_lower_limit_is_enough(self, readings):
        lot = verdict(
            [readings(low=[45_000.0], high=[INF])],
            specification(replace(HEAT, upper=None)),
            history=USUAL,
        )

        assert lot.recommendation == "accept"
        assert lot.sentence.endswith("To note: above calibrated range.")

    def test_a_quantification_limit_above_the_limit_needs_a_finer_method(self, aflatoxin):
        lot = verdict([aflatoxin(low=[0.0], high=[8.0])], specification(AFLATOXIN), history=USUAL)

        (line,) = lot.lines
        assert lot.recommendation == "hold"
        assert "below 8.0" in line.reason
        assert "measure again by a more sensitive method" in line.remedy

    def test_a_minor_compound_below_quantification_is_no_reason_to_dilute(self, readings):
        narrow = readings(low=[40_000.0], high=[40_100.0])

        lot = verdict([narrow], specification(HEAT), history=USUAL)

        (line,) = lot.lines
        assert line.outcome == "undecided"
        assert "more samples would settle it" in line.remedy

    def test_a_reading_with_a_missing_end_is_refused_by_name(self, readings):
        with pytest.raises(InvalidInput, match="heat by liquid chromatography"):
            verdict([readings(math.nan)], specification(HEAT), history=USUAL)


class TestFlags:
    def test_a_signal_is_noted_and_does_not_hold(self, readings):
        known = history(("heat", "liquid chromatography"), lots=24, signals=("nine on one side",))

        lot = verdict([readings(45_000.0)], specification(HEAT), history=known)

        assert lot.recommendation == "accept"
        assert [flag.name for flag in lot.flags] == ["unusual for this supplier"]
        assert lot.sentence.endswith("To note: unusual for this supplier.")

    def test_it_holds_where_the_material_says_so(self, readings):
        known = history(("heat", "liquid chromatography"), lots=24, signals=("nine on one side",))

        lot = verdict(
            [readings(45_000.0)],
            specification(HEAT, hold_on=("unusual for this supplier",)),
            history=known,
        )

        assert lot.recommendation == "hold"
        assert lot.sentence == f"Hold: {lot.flags[0].sentence}"
        assert "against a baseline of 24 lots" in lot.sentence

    def test_a_screening_result_above_a_safety_limit_is_told_though_it_decides_nothing(
        self, readings, aflatoxin
    ):
        lot = verdict(
            [readings(45_000.0), aflatoxin(9.1, method=SENSOR)],
            specification(HEAT, AFLATOXIN),
            history=USUAL,
        )

        assert lot.recommendation == "hold"
        assert [flag.name for flag in lot.flags] == ["adverse report"]
        assert "reference method before anything is released" in lot.flags[0].sentence

    def test_a_certificate_that_declares_a_detection_is_told(self, readings, salmonella):
        lot = verdict(
            [readings(45_000.0), salmonella(0.0), salmonella(1.0, method=CERTIFICATE)],
            specification(HEAT, SALMONELLA),
            history=USUAL,
        )

        assert "adverse report" in [flag.name for flag in lot.flags]

    def test_rows_that_could_not_be_taken_in_explain_a_missing_result(self):
        lot = verdict(
            [], specification(HEAT), untaken=["Held at intake, 12 of late.csv: no dilution."]
        )

        assert lot.sentence == (
            "Hold: No result that may decide yet for heat."
            " Held at intake, 12 of late.csv: no dilution."
        )
        assert [flag.name for flag in lot.flags] == ["rows held at intake"]

    def test_a_contaminant_ten_times_its_usual_content_is_no_slip(self, readings, aflatoxin):
        known = {**USUAL, **history(("aflatoxin B1", "liquid chromatography"), usual=0.09)}

        lot = verdict(
            [readings(45_000.0), aflatoxin(0.9)], specification(HEAT, AFLATOXIN), history=known
        )

        assert "possible slip" not in [flag.name for flag in lot.flags]

    def test_a_certificate_that_disagrees_is_noted(self, readings):
        lot = verdict(
            [readings(45_000.0), readings(80_000.0, method=CERTIFICATE)],
            specification(HEAT),
            history=USUAL,
        )

        assert lot.recommendation == "accept"
        assert [flag.name for flag in lot.flags] == ["certificate disagrees"]

    def test_a_certificate_on_dry_basis_is_compared_as_dry(self, readings, moisture):
        """A mash of 80 g/100 g water: five times the heat on its certificate, and both right."""
        dry = readings(225_000.0, method=CERTIFICATE, basis="dry")

        lot = verdict([readings(45_000.0), dry, moisture(80.0)], specification(HEAT), history=USUAL)

        assert lot.flags == ()

    def test_a_tenth_of_the_certificate_is_a_possible_slip_and_holds(self, readings):
        lot = verdict(
            [readings(45_000.0), readings(440_000.0, method=CERTIFICATE)],
            specification(HEAT),
            history=USUAL,
        )

        assert lot.recommendation == "hold"
        assert {flag.name for flag in lot.flags} == {"certificate disagrees", "possible slip"}
        assert "the certificate 440 000 SHU" in plain(lot.sentence)
        assert "E_n" not in lot.sentence

    def test_a_tenth_of_what_is_usual_is_a_possible_slip_too(self, readings):
        known = history(("heat", "liquid chromatography"), usual=460_000.0, lots=20)

        lot = verdict([readings(45_000.0)], specification(HEAT), history=known)

        assert [flag.name for flag in lot.flags] == ["possible slip"]
        assert "usual for this supplier is 460 000 SHU" in plain(lot.sentence)

    @pytest.mark.parametrize("low", [0.0, 0.5])
    def test_a_certificate_of_less_than_its_quantification_limit_is_no_slip(self, aflatoxin, low):
        own = aflatoxin(low=[low], high=[0.5])
        declared = aflatoxin(low=[0.0], high=[5.0], method=CERTIFICATE)

        lot = verdict([own, declared], specification(AFLATOXIN), history=USUAL)

        assert lot.flags == ()

    def test_replicates_apart_are_noted(self, readings):
        lot = verdict(
            [readings(42_000.0, 49_000.0, sample=[1, 1])], specification(HEAT), history=USUAL
        )

        assert "replicates spread" in [flag.name for flag in lot.flags]

    def test_two_lines_on_one_characteristic_say_it_once(self, readings):
        known = history(("heat", "liquid chromatography"), lots=24, signals=("nine on one side",))
        lines = replace(HEAT, upper=None), replace(HEAT, lower=None)

        lot = verdict([readings(45_000.0)], specification(*lines), history=known)

        assert len(lot.flags) == 1

    def test_absence_is_compared_with_no_certificate(self, salmonella):
        lot = verdict(
            [salmonella(0.0), salmonella(0.0, method=CERTIFICATE)], specification(SALMONELLA)
        )

        assert lot.flags == ()


@pytest.mark.reaches(0.3)
@settings(deadline=None)
@given(
    st.floats(10_000.0, 100_000.0),
    st.integers(1, 8),
    st.floats(1.0, 3.0),
    st.floats(0.3, 1.0),
    st.floats(0.3, 1.0),
)
def test_a_tighter_limit_never_saves_a_lot(readings, heat, samples, width, raised, lowered):
    """A line that does not conform never turns conforming, nor undecided, by tightening it."""
    results = [readings(*[heat] * samples)]
    loose = replace(HEAT, lower=40_000.0 / width, upper=40_000.0 * width)
    tight = replace(
        loose, lower=40_000.0 / width ** min(raised, 1.0), upper=40_000.0 * width**lowered
    )

    before, after = (
        verdict(results, specification(line), history=USUAL).lines[0] for line in (loose, tight)
    )

    assert after.probability[0] <= before.probability[0] + 1e-12
    if counts(before.outcome == "not conforming"):
        assert after.outcome == "not conforming"


@pytest.mark.reaches(0.5)
@settings(deadline=None)
@given(st.floats(0.048, 0.072), st.sampled_from([-1.0, 1.0]), st.integers(1, 2))
def test_what_is_said_to_be_missing_is_what_settles_it(readings, off, side, samples):
    """Near the limit, where the spread of samples is what leaves it open."""
    heat = 38_000.0 * math.exp(side * off)
    lot = verdict([readings(*[heat] * samples)], specification(HEAT), history=USUAL)
    remedy = lot.lines[0].remedy
    if not counts(remedy.startswith("About")):
        return

    more = int(remedy.split()[1])

    settled = verdict([readings(*[heat] * (samples + more))], specification(HEAT), history=USUAL)
    assert settled.lines[0].outcome != "undecided"
