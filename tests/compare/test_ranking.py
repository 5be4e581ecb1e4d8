import numpy as np
import pytest
from scipy import stats

from spc.compare.between_suppliers.lots_by_supplier import grouped_lots
from spc.compare.between_suppliers.ranking import DrawnSuppliers, ranking
from spc.compare.between_suppliers.shrunken_means import shrunken_means
from spc.compare.between_suppliers.shrunken_spreads import shrunken_spreads

NONE = (-np.inf, np.inf)


def known(sigmas, lots, *, means=None, uncertainty=0.0):
    """Suppliers whose lots have just these means and standard deviations."""
    values = []
    for sigma, size, mean in zip(sigmas, lots, means or [0.0] * len(lots), strict=True):
        z = stats.norm.ppf((np.arange(size) + 0.5) / size)
        values.append(mean + sigma * (z - z.mean()) / z.std(ddof=1))
    code = np.repeat(np.arange(len(lots)), lots)
    groups = grouped_lots(np.concatenate(values), code, uncertainty=uncertainty)
    spreads = shrunken_spreads(groups)
    drawn = shrunken_means(groups.mean, spreads.variance / groups.lots)
    return DrawnSuppliers(groups=groups, spreads=spreads, means=drawn)


def asked(suppliers, limits=NONE, *, draws=20_000, seed=1):
    shifted = tuple(limit - suppliers.groups.origin for limit in limits)
    return ranking(suppliers, limits=shifted, draws=draws, seed=seed)


@pytest.mark.parametrize(("sigmas", "lots"), [((1.0, 1.3), (9, 14)), ((1.0, 1.0), (5, 40))])
def test_of_two_suppliers_the_more_consistent_one_is_a_question_of_f(sigmas, lots):
    """Two borrow nothing, so the ratio of their variances follows F exactly."""
    ratio = (sigmas[1] / sigmas[0]) ** 2
    expected = stats.f.cdf(ratio, lots[1] - 1, lots[0] - 1)

    found = asked(known(sigmas, lots))

    error = found.most_consistent_error[0]
    assert found.most_consistent[0] == pytest.approx(expected, abs=4.0 * error)
    assert error == pytest.approx(np.sqrt(expected * (1.0 - expected) / 20_000), rel=0.05)
    assert found.most_consistent.sum() == pytest.approx(1.0)


@pytest.mark.parametrize("limits", [(38.0, 46.0), (-np.inf, 41.0), (39.5, np.inf)])
def test_of_two_suppliers_the_next_lot_follows_student_s_t(limits):
    """Two borrow nothing, so the next lot lies about the mean by s sqrt(1 + 1/n) times t."""
    means, sigmas, lots = np.array([40.0, 43.0]), np.array([1.0, 3.0]), np.array([4, 12])
    t = (np.array(limits)[:, None] - means) / (sigmas * np.sqrt(1.0 + 1.0 / lots))
    expected = np.diff(stats.t.cdf(t, lots - 1), axis=0)[0]

    found = asked(known(sigmas, lots, means=means.tolist()), limits)

    assert (np.abs(found.inside - expected) < 4.0 * found.inside_error).all()
    assert (found.inside_error < 0.004).all()


def test_the_stated_errors_are_what_other_seeds_change():
    suppliers = known([1.0, 1.2, 0.9], [8, 20, 6], means=[40.0, 41.0, 40.5])
    found = [asked(suppliers, (38.5, 42.0), draws=500, seed=seed) for seed in range(60)]

    for chance, error in (("most_consistent", "most_consistent_error"), ("inside", "inside_error")):
        scatter = np.std([getattr(one, chance) for one in found], axis=0, ddof=1)
        stated = np.mean([getattr(one, error) for one in found], axis=0)
        assert scatter / stated == pytest.approx(np.ones(3), abs=0.3)


def test_the_same_seed_gives_the_same_chances_and_limits_do_not_disturb_them():
    suppliers = known([1.0, 1.2, 0.9], [8, 20, 6])

    once, again, free = asked(suppliers, (-1, 1)), asked(suppliers, (-1, 1)), asked(suppliers)

    assert once.most_consistent.tolist() == again.most_consistent.tolist()
    assert once.inside.tolist() == again.inside.tolist()
    assert once.most_consistent.tolist() == free.most_consistent.tolist()
    assert np.isnan(free.inside).all()
    assert np.isnan(free.inside_error).all()


def test_five_lots_that_agree_by_luck_do_not_rank_like_forty():
    """Taken alone the five would be the most consistent with a chance of three in four."""
    sigmas, lots = [0.75, 1.0, 1.0, 1.0], [5, 40, 40, 40]
    generator = np.random.default_rng(1)
    degrees = np.array(lots) - 1
    alone = np.array(sigmas) ** 2 * degrees / generator.chisquare(degrees, (20_000, 4))

    found = asked(known(sigmas, lots))

    assert (alone.argmin(axis=1) == 0).mean() > 0.6
    assert found.most_consistent[0] < 0.5


def test_suppliers_with_fewer_than_five_lots_are_not_ranked_but_told_inside():
    found = asked(known([0.1, 1.0, 1.0], [4, 9, 9]), (-2.0, 2.0))

    assert np.isnan(found.most_consistent).tolist() == [True, False, False]
    assert found.most_consistent[1:].sum() == pytest.approx(1.0)
    assert (found.inside > 0.5).all()


def test_a_single_supplier_with_five_lots_is_not_the_most_consistent_of_any():
    found = asked(known([0.1, 1.0, 1.0], [4, 4, 9]))

    assert np.isnan(found.most_consistent).all()
    assert np.isnan(found.most_consistent_error).all()


def test_suppliers_whose_spread_is_all_measurement_share_the_first_place():
    found = asked(known([1.0, 1.1], [12, 12], uncertainty=50.0))

    assert found.most_consistent.tolist() == [0.5, 0.5]


def test_measurement_does_not_throw_lots_out_of_their_limits():
    """Spread 5 of which 4 is measurement leaves 3; the mean keeps its doubt."""
    measured = asked(known([5.0, 5.0], [400, 400], uncertainty=4.0), (-6.0, 6.0))
    plain = asked(known([3.0, 3.0], [400, 400]), (-6.0, 6.0))

    assert measured.inside == pytest.approx(plain.inside, abs=0.01)
    assert plain.inside == pytest.approx(stats.chi2.cdf(4.0, 1), abs=0.01)
