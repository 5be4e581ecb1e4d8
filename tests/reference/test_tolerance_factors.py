"""Normal tolerance factors and distribution-free sizes as printed in four places.

ISO 16269-6 and Odeh and Owen (1980), and the older approximate tables, are from memory.  NIST is
the NIST/SEMATECH e-Handbook of Statistical Methods (doi 10.18434/M32189).
"""

import math

import pytest
from scipy import stats

from spc.capability import extremes_confidence, extremes_size, tolerance_factor

# Content and confidence of the columns below.
COLUMNS = [
    (content, confidence) for content in (0.90, 0.95, 0.99) for confidence in (0.90, 0.95, 0.99)
]

# Number of values: one-sided factors, two-sided factors; by an independent program.
FACTORS = {
    2: (
        (10.2527, 20.5815, 103.0286, 13.0897, 26.2597, 131.4263, 18.5001, 37.0936, 185.6170),
        (15.5123, 31.0922, 155.5690, 18.2207, 36.5192, 182.7201, 23.4235, 46.9444, 234.8775),
    ),
    3: (
        (4.2582, 6.1553, 13.9954, 5.3115, 7.6559, 17.3702, 7.3404, 10.5527, 23.8956),
        (5.7881, 8.3059, 18.7824, 6.8233, 9.7888, 22.1308, 8.8186, 12.6471, 28.5857),
    ),
    4: (
        (3.1878, 4.1619, 7.3799, 3.9566, 5.1439, 9.0835, 5.4382, 7.0424, 12.3873),
        (4.1571, 5.3681, 9.4161, 4.9127, 6.3411, 11.1178, 6.3721, 8.2207, 14.4054),
    ),
    5: (
        (2.7423, 3.4066, 5.3617, 3.3998, 4.2027, 6.5783, 4.6660, 5.7411, 8.9390),
        (3.4993, 4.2906, 6.6549, 4.1425, 5.0769, 7.8697, 5.3868, 6.5980, 10.2201),
    ),
    6: (
        (2.4937, 3.0063, 4.4111, 3.0919, 3.7077, 5.4055, 4.2425, 5.0620, 7.3346),
        (3.1406, 3.7326, 5.3832, 3.7225, 4.4222, 6.3735, 4.8497, 5.7577, 8.2915),
    ),
    7: (
        (2.3326, 2.7554, 3.8591, 2.8938, 3.3995, 4.7279, 3.9720, 4.6417, 6.4119),
        (2.9128, 3.3895, 4.6576, 3.4557, 4.0196, 5.5196, 4.5085, 5.2411, 7.1907),
    ),
    8: (
        (2.2186, 2.5819, 3.4972, 2.7543, 3.1873, 4.2853, 3.7825, 4.3539, 5.8118),
        (2.7541, 3.1560, 4.1886, 3.2699, 3.7455, 4.9677, 4.2707, 4.8892, 6.4790),
    ),
    10: (
        (2.0657, 2.3546, 3.0479, 2.5684, 2.9110, 3.7383, 3.5317, 3.9811, 5.0737),
        (2.5459, 2.8563, 3.6166, 3.0257, 3.3934, 4.2942, 3.9580, 4.4369, 5.6102),
    ),
    12: (
        (1.9662, 2.2101, 2.7767, 2.4483, 2.7363, 3.4099, 3.3707, 3.7471, 4.6330),
        (2.4139, 2.6703, 3.2786, 2.8707, 3.1747, 3.8959, 3.7591, 4.1555, 5.0959),
    ),
    15: (
        (1.8668, 2.0684, 2.5215, 2.3290, 2.5660, 3.1024, 3.2118, 3.5201, 4.2224),
        (2.2855, 2.4922, 2.9671, 2.7196, 2.9649, 3.5285, 3.5648, 3.8853, 4.6212),
    ),
    20: (
        (1.7652, 1.9260, 2.2756, 2.2078, 2.3960, 2.8079, 3.0515, 3.2952, 3.8316),
        (2.1583, 2.3188, 2.6752, 2.5696, 2.7603, 3.1838, 3.3715, 3.6210, 4.1747),
    ),
    25: (
        (1.7015, 1.8381, 2.1290, 2.1323, 2.2917, 2.6332, 2.9524, 3.1580, 3.6011),
        (2.0813, 2.2151, 2.5059, 2.4786, 2.6377, 2.9835, 3.2538, 3.4621, 3.9149),
    ),
    30: (
        (1.6571, 1.7773, 2.0298, 2.0798, 2.2198, 2.5155, 2.8837, 3.0639, 3.4465),
        (2.0289, 2.1451, 2.3940, 2.4166, 2.5549, 2.8509, 3.1733, 3.3546, 3.7425),
    ),
    40: (
        (1.5979, 1.6972, 1.9017, 2.0103, 2.1255, 2.3641, 2.7932, 2.9409, 3.2486),
        (1.9611, 2.0553, 2.2528, 2.3362, 2.4484, 2.6835, 3.0688, 3.2159, 3.5244),
    ),
    43: (
        (1.5848, 1.6796, 1.8740, 1.9949, 2.1048, 2.3314, 2.7733, 2.9141, 3.2059),
        (1.9464, 2.0359, 2.2228, 2.3188, 2.4254, 2.6479, 3.0461, 3.1860, 3.4779),
    ),
    50: (
        (1.5595, 1.6456, 1.8208, 1.9653, 2.0650, 2.2689, 2.7349, 2.8624, 3.1246),
        (1.9183, 1.9990, 2.1660, 2.2855, 2.3816, 2.5804, 3.0026, 3.1288, 3.3897),
    ),
    60: (
        (1.5320, 1.6089, 1.7641, 1.9333, 2.0222, 2.2023, 2.6935, 2.8071, 3.0383),
        (1.8885, 1.9599, 2.1063, 2.2500, 2.3351, 2.5094, 2.9563, 3.0680, 3.2969),
    ),
    75: (
        (1.5025, 1.5697, 1.7040, 1.8989, 1.9764, 2.1321, 2.6493, 2.7481, 2.9474),
        (1.8570, 1.9188, 2.0442, 2.2126, 2.2862, 2.4356, 2.9074, 3.0041, 3.2003),
    ),
    100: (
        (1.4701, 1.5267, 1.6390, 1.8613, 1.9265, 2.0563, 2.6009, 2.6840, 2.8496),
        (1.8232, 1.8748, 1.9783, 2.1724, 2.2339, 2.3572, 2.8548, 2.9355, 3.0976),
    ),
    200: (
        (1.4113, 1.4496, 1.5240, 1.7933, 1.8372, 1.9229, 2.5141, 2.5697, 2.6786),
        (1.7642, 1.7984, 1.8656, 2.1022, 2.1429, 2.2230, 2.7627, 2.8162, 2.9215),
    ),
    500: (
        (1.3618, 1.3851, 1.4297, 1.7364, 1.7630, 1.8142, 2.4418, 2.4754, 2.5402),
        (1.7169, 1.7374, 1.7770, 2.0458, 2.0702, 2.1174, 2.6886, 2.7207, 2.7828),
    ),
}

# Content 95 %, confidence 95 % as printed in ISO 16269-6 and by Odeh and Owen.
ONE_SIDED = {5: 4.203, 10: 2.911, 20: 2.396, 30: 2.220, 50: 2.065, 100: 1.927}
TWO_SIDED = {2: 36.519, 3: 9.789, 4: 6.341, 5: 5.077, 10: 3.393}

# Content 95 %, confidence 95 %, two-sided, of older tables; and the exact ones.
APPROXIMATE = [
    (2, 37.674, 36.5192),
    (3, 9.916, 9.7888),
    (4, 6.370, 6.3411),
    (5, 5.079, 5.0769),
    (10, 3.379, 3.3934),
    (20, 2.752, 2.7603),
    (30, 2.549, 2.5549),
    (50, 2.379, 2.3816),
    (100, 2.233, 2.2339),
]

# Content, confidence, fewest values below or above one extreme, and between both.
SIZES = [
    (0.9, 0.9, 22, 38),
    (0.9, 0.95, 29, 46),
    (0.9, 0.99, 44, 64),
    (0.95, 0.9, 45, 77),
    (0.95, 0.95, 59, 93),
    (0.95, 0.99, 90, 130),
    (0.99, 0.9, 230, 388),
    (0.99, 0.95, 299, 473),
    (0.99, 0.99, 459, 662),
]

# NIST 7.2.6.4: confidence that 25 values hold a share between their extremes.
EXTREMES_OF_25 = [
    (0.5, 1.0),
    (0.75, 0.993),
    (0.9, 0.729),
    (0.95, 0.358),
    (0.975, 0.129),
    (0.99, 0.026),
    (0.995, 0.007),
    (0.999, 0.0),
    (0.9995, 0.0),
    (0.9999, 0.0),
]


@pytest.mark.parametrize("sides", [1, 2])
@pytest.mark.parametrize("n", FACTORS)
def test_factors_of_the_table(n, sides):
    for (content, confidence), noted in zip(COLUMNS, FACTORS[n][sides - 1], strict=True):
        factor = tolerance_factor(n, content=content, confidence=confidence, sides=sides)

        assert factor == pytest.approx(noted, abs=5.2e-5)


@pytest.mark.parametrize(("n", "printed"), ONE_SIDED.items())
def test_one_sided_factors_are_the_printed_ones(n, printed):
    factor = tolerance_factor(n, content=0.95, confidence=0.95, sides=1)

    assert factor == pytest.approx(printed, abs=5.1e-4)


@pytest.mark.parametrize(("n", "printed"), TWO_SIDED.items())
def test_two_sided_factors_are_the_printed_ones(n, printed):
    factor = tolerance_factor(n, content=0.95, confidence=0.95)

    assert factor == pytest.approx(printed, abs=5.1e-4)


@pytest.mark.parametrize(("n", "older", "exact"), APPROXIMATE)
def test_older_tables_are_approximations_of_the_exact_factors(n, older, exact):
    factor = tolerance_factor(n, content=0.95, confidence=0.95)

    assert factor == pytest.approx(exact, abs=5.1e-5)
    assert factor == pytest.approx(older, rel=0.035)


class TestWafersOfNist7263:
    """Forty-three wafers, content 90 %, confidence 99 %."""

    def test_the_one_sided_factor_is_the_printed_one(self):
        factor = tolerance_factor(43, content=0.9, confidence=0.99, sides=1)

        assert factor == pytest.approx(1.8740, abs=5.1e-5)
        assert factor == pytest.approx(1.8739536058511987, abs=1e-9)
        assert factor * math.sqrt(43) == pytest.approx(12.28834, abs=5.1e-6)

    def test_six_values_have_the_printed_factor(self):
        factor = tolerance_factor(6, content=0.9, confidence=0.99, sides=1)

        assert factor == pytest.approx(4.4111, abs=5.1e-5)
        assert factor == pytest.approx(4.411080572397619, abs=1e-9)

    def test_the_printed_two_sided_factor_is_howes_approximation_of_the_exact_one(self):
        howe = stats.norm.ppf(0.95) * math.sqrt(
            42.0 * (1.0 + 1.0 / 43.0) / stats.chi2.ppf(0.01, 42)
        )

        assert howe == pytest.approx(2.217, abs=5e-4)
        assert tolerance_factor(43, content=0.9, confidence=0.99) == pytest.approx(
            2.22282517379, abs=1e-9
        )


@pytest.mark.parametrize(("content", "printed"), EXTREMES_OF_25)
def test_extremes_of_25_values_hold_a_share_as_nist_7_2_6_4_says(content, printed):
    assert extremes_confidence(25, content=content) == pytest.approx(printed, abs=5.1e-4)


@pytest.mark.parametrize(("content", "confidence", "n"), [(0.9, 0.95, 46), (0.99, 0.95, 473)])
def test_the_sizes_of_nist_7_2_6_4(content, confidence, n):
    assert extremes_size(content=content, confidence=confidence) == n


@pytest.mark.parametrize(("content", "confidence", "one", "two"), SIZES)
def test_sizes_without_a_distribution(content, confidence, one, two):
    assert extremes_size(content=content, confidence=confidence, sides=1) == one
    assert extremes_size(content=content, confidence=confidence) == two
