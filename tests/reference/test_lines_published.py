"""Lines against certified and published figures, and against slow second computations.

NIST Statistical Reference Datasets Pontius, NoInt1 and NoInt2; NIST/SEMATECH e-Handbook 4.6.1
(the load cell, straight); Graybill, F. A. and Iyer, H. K. (1994), Regression Analysis (arsenic);
York, D. et al. (2004), American Journal of Physics 72(3), 367-375 (Pearson's data with York's
weights); NIST/SEMATECH e-Handbook 2.3.6 (linewidth calibration, its printed fit).
"""

import math

import numpy as np
import pytest
from scipy import optimize, stats

from spc.compare import both_errors_line, calibration_control, least_squares
from spc.errors import InvalidInput

LOAD = np.tile(150_000.0 * np.arange(1, 21), 2)
# fmt: off
DEFLECTION = np.array([
    0.11019, 0.21956, 0.32949, 0.43899, 0.54803, 0.65694, 0.76562, 0.87487, 0.98292, 1.09146,
    1.20001, 1.30822, 1.41599, 1.52399, 1.63194, 1.73947, 1.84646, 1.95392, 2.06128, 2.16844,
    0.11052, 0.22018, 0.32939, 0.43886, 0.54798, 0.65739, 0.76596, 0.87474, 0.98300, 1.09150,
    1.20004, 1.30818, 1.41613, 1.52408, 1.63159, 1.73965, 1.84696, 1.95445, 2.06177, 2.16829,
])
ARSENIC = np.array([
    0.17, 0.25, 0.01, 0.12, 1.25, 0.86, 1.25, 1.1, 2.01, 2.03, 2.14, 1.74, 3.18, 2.99, 3.23, 3.37,
    3.91, 3.9, 3.61, 4.27, 4.88, 5.33, 4.96, 4.98, 6.09, 6.17, 6.07, 5.97, 6.67, 7.02, 7.14, 7.3,
])
PEARSON_X = np.array([0.0, 0.9, 1.8, 2.6, 3.3, 4.4, 5.2, 6.1, 6.5, 7.4])
PEARSON_Y = np.array([5.9, 5.4, 4.4, 4.6, 3.5, 3.7, 2.8, 2.8, 2.4, 1.5])
X_WEIGHT = np.array([1000.0, 1000.0, 500.0, 800.0, 200.0, 80.0, 60.0, 20.0, 1.8, 1.0])
Y_WEIGHT = np.array([1.0, 1.8, 4.0, 8.0, 20.0, 20.0, 70.0, 70.0, 100.0, 500.0])
# fmt: on
YORK = {"x_error": X_WEIGHT**-0.5, "y_error": Y_WEIGHT**-0.5}


def test_pontius_is_certified():
    found = least_squares(LOAD, DEFLECTION, degree=2)

    assert found.coefficients == pytest.approx(
        [0.673565789473684e-3, 0.732059160401003e-6, -0.316081871345029e-14], rel=1e-9, abs=0.0
    )
    assert found.standard_errors == pytest.approx(
        [0.107938612033077e-3, 0.157817399981659e-9, 0.486652849992036e-16], rel=1e-9, abs=0.0
    )
    assert found.residual_sd == pytest.approx(0.205177424076185e-3, rel=1e-9)
    assert found.r_squared == pytest.approx(0.999999900178537, abs=1e-14)


def test_the_load_cell_is_not_straight_whatever_its_r_squared_says():
    line = least_squares(LOAD, DEFLECTION)

    assert line.coefficients == pytest.approx([0.00614969, 7.22103e-7], rel=1e-6)
    assert line.standard_errors == pytest.approx([0.0007132, 3.969e-10], rel=1e-4)
    assert line.residual_sd == pytest.approx(0.0021712694, rel=2e-6)
    assert line.r_squared > 0.9999
    fit = line.lack_of_fit
    assert fit is not None
    assert fit.statistic == pytest.approx(214.7464, rel=5e-6)
    assert (fit.degrees_line, fit.degrees_repeats) == (18, 20)
    curved = least_squares(LOAD, DEFLECTION, degree=2).lack_of_fit
    assert curved is not None
    assert curved.p_value == pytest.approx(0.666172944808, abs=1e-8)


def test_noint1_and_noint2_are_certified():
    first = least_squares(np.arange(60, 71), np.arange(130, 141), through_zero=True)
    second = least_squares([4.0, 5.0, 6.0], [3.0, 4.0, 4.0], through_zero=True)

    assert first.coefficients == pytest.approx([2.07438016528926], rel=1e-12)
    assert first.standard_errors == pytest.approx([0.165289256198347e-1], rel=1e-12)
    assert first.residual_sd == pytest.approx(3.56753034006338, rel=1e-12)
    assert first.r_squared == pytest.approx(0.999365492298663, rel=1e-12)
    assert first.f_statistic == pytest.approx(15750.25, rel=1e-10)
    assert second.coefficients == pytest.approx([0.727272727272727], rel=1e-12)
    assert second.standard_errors == pytest.approx([0.420827318078432e-1], rel=1e-12)
    assert second.residual_sd == pytest.approx(0.369274472937998, rel=1e-12)


def test_the_arsenic_line_fits():
    found = least_squares(np.repeat(np.arange(8.0), 4), ARSENIC)

    assert found.coefficients == pytest.approx([0.104583333333, 0.987708333333], rel=1e-11)
    assert found.lack_of_fit is not None
    assert found.lack_of_fit.statistic == pytest.approx(0.868282595104, rel=1e-10)
    assert found.lack_of_fit.p_value == pytest.approx(0.532183241635, rel=1e-9)


def test_weights_are_as_if_readings_were_repeated():
    x, y, times = np.array([1.0, 2.0, 4.0, 7.0]), np.array([1.2, 1.9, 4.4, 6.7]), [1, 3, 2, 4]

    weighted = least_squares(x, y, weights=times)

    repeated = least_squares(np.repeat(x, times), np.repeat(y, times))
    assert weighted.coefficients == pytest.approx(repeated.coefficients, rel=1e-12)
    assert weighted.r_squared == pytest.approx(repeated.r_squared, rel=1e-12)
    by_hand = np.polyfit(x, y, 1, w=np.sqrt(times), cov=True)
    assert weighted.standard_errors[::-1] == pytest.approx(np.sqrt(np.diag(by_hand[1])), rel=1e-9)


def test_the_line_and_its_error_between_readings():
    found = least_squares(np.repeat(np.arange(8.0), 4), ARSENIC)

    off = 5.5 - 3.5
    assert found.at(5.5) == pytest.approx(0.104583333333 + 5.5 * 0.987708333333, rel=1e-11)
    assert found.standard_error_at([5.5]) == pytest.approx(
        [found.residual_sd * math.sqrt(1 / 32 + off**2 / 168.0)], rel=1e-10
    )


def test_pearsons_data_with_yorks_weights():
    found = both_errors_line(PEARSON_X, PEARSON_Y, **YORK)

    assert found.intercept == pytest.approx(5.47991022, abs=5e-9)
    assert found.slope == pytest.approx(-0.480533407, abs=5e-10)
    assert found.misfit == pytest.approx(11.8663532, abs=5e-8)
    assert found.slope_error == pytest.approx(0.0579850, abs=5e-6)
    assert found.intercept_error == pytest.approx(0.294971, abs=5e-5)


def test_the_line_is_the_one_of_least_misfit():
    """Minimised over both parameters at once, without York's iteration."""

    def misfit(line):
        intercept, slope = line
        return np.sum(
            (PEARSON_Y - intercept - slope * PEARSON_X) ** 2 / (1 / Y_WEIGHT + slope**2 / X_WEIGHT)
        )

    found = both_errors_line(PEARSON_X, PEARSON_Y, **YORK)

    best = optimize.minimize(misfit, [6.0, -0.5], method="Nelder-Mead", options={"xatol": 1e-13})
    assert found.misfit == pytest.approx(best.fun, rel=1e-9)
    assert (found.intercept, found.slope) == pytest.approx(tuple(best.x), rel=1e-6)


def test_without_an_error_of_x_it_is_the_weighted_line():
    found = both_errors_line(PEARSON_X, PEARSON_Y, x_error=1e-9, y_error=Y_WEIGHT**-0.5)

    weighted = least_squares(PEARSON_X, PEARSON_Y, weights=Y_WEIGHT)
    assert (found.intercept, found.slope) == pytest.approx(tuple(weighted.coefficients), rel=1e-9)


def test_a_calibration_is_out_where_a_control_standard_reads_too_high():
    line = least_squares(np.repeat(np.arange(8.0), 4), ARSENIC)
    known = np.array([1.0, 6.0])
    good = line.at(known)

    found = calibration_control(line, known=known, reading=[good, good + np.array([0.0, 0.6])])

    each = 1.0 - 0.95**0.5
    limit = stats.t.ppf(1.0 - each / 2.0, 30) * line.residual_sd / line.coefficients[1]
    assert found.limit == pytest.approx(limit, rel=1e-12)
    assert found.deviation[0] == pytest.approx([0.0, 0.0], abs=1e-12)
    assert found.days_out.tolist() == [False, True]
    assert found.out[1].tolist() == [False, True]


def test_a_calibration_that_holds_is_called_out_as_often_as_stated():
    """Readings with the sigma that the line found: the t limit is then hardly too wide."""
    generator = np.random.default_rng(5)
    x = np.tile(np.arange(10.0), 100)
    line = least_squares(x, x + generator.normal(size=x.size))
    known = np.array([1.0, 5.0, 9.0])

    readings = line.at(known) + line.residual_sd * generator.normal(size=(20_000, 3))
    found = calibration_control(line, known=known, reading=readings)

    assert found.days_out.mean() == pytest.approx(0.05, abs=0.006)


@pytest.mark.parametrize(
    ("call", "fault"),
    [
        (lambda: least_squares([1.0, 2.0], [1.0, 2.0]), "do not fix"),
        (lambda: least_squares([1.0, 2.0, 3.0], [1.0, math.nan, 2.0]), "not a finite"),
        (lambda: least_squares([1.0, 2.0, 3.0], [1.0, 2.0]), "one length"),
        (lambda: least_squares([1.0, 2.0, 3.0], [1.0, 2.0, 4.0], weights=[1, 0, 1]), "weight"),
        (lambda: least_squares([1.0, 2.0, 3.0], [1.0, 2.0, 4.0], degree=0), "degree"),
        (lambda: both_errors_line([1, 2], [1, 2], x_error=1, y_error=1), "three points"),
        (lambda: both_errors_line([1, 2, 3], [1, 2, 2], x_error=0, y_error=1), "not positive"),
        (lambda: both_errors_line([1, 1, 1], [1, 2, 2], x_error=1, y_error=1), "equal"),
        (lambda: both_errors_line([1, 2, 3], [1, 2, 2], x_error=[1, 2], y_error=1), "differ"),
    ],
)
def test_what_makes_no_line_is_refused(call, fault):
    with pytest.raises(InvalidInput, match=fault):
        call()
