"""What the quick, the whole and the long round try, and in which order the files run."""

import os
from collections import Counter
from collections.abc import Sequence
from pathlib import Path
from typing import Final

import pytest
from hypothesis import is_hypothesis_test

TESTS = Path(__file__).parent
# Files that take long come first, so that no worker is left alone with one at the end.  The type
# check is the longest; who is not busy with it makes the demo's store meanwhile.
LONGEST_FIRST = ("architecture", "browser", "faults", "dashboard", "store", "intake")
# Folders whose tests start a browser, or kill processes.
SLOW_FOLDERS = frozenset({"browser", "faults"})
SLOW_FIXTURES = frozenset(
    {"demo_store_file", "begun_demo_file", "full_store_file", "served", "invited", "company"}
)
STORES = frozenset({"small_store_file", "stocked_file"})
# Cases of one test, and tests of one file that open a store, which the quick round runs.
CASES, OPENING = 1, 2
# The long round is the whole one, drawing many more cases at random and leaving out none.
LONG: Final = os.environ.get("LOTHEAT_ROUND") == "long"
# Every test that was found, before any was left out.
COLLECTED = pytest.StashKey[list[pytest.Item]]()


def tries(few: int, *, many: int) -> int:
    """How many cases a test tries: few in the whole round, many in the long one."""
    return many if LONG else few


def place(item: pytest.Item) -> int:
    """Where the folder of a test stands in the order of the whole round."""
    folder = _folder(item)
    return LONGEST_FIRST.index(folder) if folder in LONGEST_FIRST else len(LONGEST_FIRST)


def quick(items: Sequence[pytest.Item]) -> list[pytest.Item]:
    """The tests of the quick round.

    It leaves out what needs the demo's store, a browser or a killed process, what draws examples
    or is marked `thorough`; of a test with many cases it runs the first, and of the tests of
    a file that open a store the first two.
    """
    cases: Counter[str] = Counter()
    opening: Counter[Path] = Counter()
    chosen = []
    for item in items:
        test = item.nodeid.split("[", 1)[0]
        if _is_slow(item) or cases[test] == CASES:
            continue
        opens = bool(STORES & _fixtures(item))
        if opens and opening[item.path] == OPENING:
            continue
        cases[test] += 1
        opening[item.path] += opens
        chosen.append(item)
    return chosen


def _is_slow(item: pytest.Item) -> bool:
    return bool(
        _folder(item) in SLOW_FOLDERS
        or SLOW_FIXTURES & _fixtures(item)
        or item.get_closest_marker("thorough")
        or is_hypothesis_test(getattr(item, "obj", None))
    )


def _folder(item: pytest.Item) -> str:
    return item.path.relative_to(TESTS).parts[0]


def _fixtures(item: pytest.Item) -> frozenset[str]:
    return frozenset(getattr(item, "fixturenames", ()))
