"""The smallest conflict: as small as trying every set of constraints says."""

import itertools

import numpy as np
import pytest

from spc.blend.explain.conflict import conflict, feasible
from spc.blend.explain.smallest import Asked, smallest
from spc.blend.problem.constraints import Constraint
from spc.blend.problem.problem import problem
from spc.blend.problem.rules import Rules
from spc.errors import SearchStopped


def named(*texts):
    return tuple(Constraint(kind="share", text=text, place=place) for place, text in texts)


def fewest(every, keeps):
    """The size of the smallest set that cannot be kept, every set tried."""
    sizes = range(1, len(every) + 1)
    return next(
        size
        for size in sizes
        if any(not keeps(frozenset(some)) for some in itertools.combinations(every, size))
    )


@pytest.mark.thorough
def test_no_set_of_constraints_smaller_than_the_one_told_conflicts(asking_too_much):
    told = []
    for seed in range(30):
        asked = asking_too_much(seed)
        if feasible(asked, whole=True):
            continue

        found = conflict(asked)

        every = asked.constraints()
        for some in itertools.combinations(every, len(found.constraints) - 1):
            assert feasible(asked, without=set(every) - set(some), whole=found.whole)
        assert found.smallest
        told.append(len(found.constraints))

    assert len(told) > 6
    assert max(told) > 1


def test_one_lot_alone_that_may_not_be_broken_conflicts_with_the_level_between_two(lot, heat):
    """With lots that count in part half of each would do."""
    lots = [lot("MILD", 3e4), lot("HOT", 6e4)]
    asked = problem(lots, heat(4.4e4, 4.6e4), batch_kg=100.0, rules=Rules(most_lots=1))

    found = conflict(asked)

    assert (found.whole, found.smallest) == (True, True)
    every = asked.constraints()
    for some in itertools.combinations(every, len(found.constraints) - 1):
        assert feasible(asked, without=set(every) - set(some), whole=True)
    assert {one.kind for one in found.constraints} == {"at least", "at most", "most lots"}


def test_forty_drawn_families_of_conflicts_have_the_size_that_trying_every_set_gives():
    random, replaced = np.random.default_rng(5), 0
    every = named(*enumerate("abcdefgh"))
    for _ in range(40):
        conflicts = [
            frozenset(every[place] for place in random.choice(8, random.integers(2, 6), False))
            for _ in range(4)
        ]

        def keeps(some, conflicts=conflicts):
            return not any(each <= some for each in conflicts)

        largest = max(
            (each for each in conflicts if not any(other < each for other in conflicts)), key=len
        )
        found, proven = smallest(every, tuple(largest), Asked(answer=keeps, most=1_000))

        assert proven
        assert not keeps(frozenset(found))
        assert len(found) == fewest(every, keeps)
        replaced += set(found) != largest
    assert replaced > 10


def test_what_was_not_settled_is_not_called_the_smallest():
    every = named(*enumerate("abc"))

    def stops(_):
        raise SearchStopped("too hard.", where="blend", remedy="Ask for less.")

    found, proven = smallest(every, every, Asked(answer=stops, most=10))

    assert found == every
    assert not proven


def test_a_question_whose_answer_follows_from_another_is_not_asked():
    every = named(*enumerate("abc"))
    asked = Asked(answer=lambda some: len(some) < 3, most=10)

    assert asked.keeps(frozenset(every[:2]))
    assert asked.keeps(frozenset(every[:1]))
    assert not asked.keeps(frozenset(every))

    assert asked.questions == 2


def test_a_question_that_was_not_settled_is_not_asked_again():
    every, questions = named(*enumerate("abc")), []

    def stops(some):
        questions.append(some)
        raise SearchStopped("too hard.", where="blend", remedy="Ask for less.")

    asked = Asked(answer=stops, most=10)

    assert not asked.surely_keeps(frozenset(every))
    assert not asked.surely_keeps(frozenset(every))
    assert questions == [frozenset(every)]


@pytest.mark.thorough
def test_of_many_lots_that_nearly_all_are_needed_for_the_odds_the_conflict_is_proven(lot, heat):
    """Sixty lots, each in small portions, keep the odds together; there is too little of them."""
    random = np.random.default_rng(6)
    lots = [lot(f"L{place}", float(random.uniform(3e4, 6e4)), u=0.2, kg=1.0) for place in range(60)]
    asked = problem(lots, heat(4.2e4, 4.8e4, odds=0.9), batch_kg=100.0, rules=Rules())

    found = conflict(asked)

    assert {one.kind for one in found.constraints} == {"stock", "batch"}
    assert found.smallest
