"""What another version of a specification asks otherwise, line by line."""

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from typing import Any, Literal, TypeAlias

from spc.acceptance.specification import Line, Specification
from spc.digits import THIN

# Characteristic, requirement, basis, and which of several lines alike.
_Place: TypeAlias = tuple[str, str, str, int]


@dataclass(frozen=True, slots=True, kw_only=True)
class LineChange:
    """One line that came, went, or asks for something else.

    Attributes
    ----------
    before, after
        What of the line is another, by name; empty before a line that is new, and after one that
        is gone.
    """

    characteristic: str
    what: Literal["new", "gone", "changed"]
    before: Mapping[str, Any]
    after: Mapping[str, Any]

    @property
    def sentence(self) -> str:
        """The change in words."""
        if self.what == "changed":
            moved = ", ".join(
                f"{_name(name)} {_value(self.before[name])} becomes {_value(value)}"
                for name, value in self.after.items()
            )
            return f"{self.characteristic}: {moved}."
        told = self.after if self.what == "new" else self.before
        facts = ", ".join(
            f"{_name(name)} {_value(value)}"
            for name, value in told.items()
            if name not in {"characteristic", "unit", "scale"}
        )
        return f"{self.characteristic}, {self.what}: {facts}."


def changes(before: Specification | None, after: Specification) -> tuple[LineChange, ...]:
    """What a version changes; nothing where it asks the same in another order.

    Parameters
    ----------
    before
        The version that it follows; None for the first.
    after
        The version.

    Returns
    -------
    tuple of LineChange
        In the order of the lines, what is gone last.
    """
    old = _placed(before.lines if before else ())
    new = _placed(after.lines)
    found = [_change(old.get(place), line) for place, line in new.items()]
    gone = [_gone(line) for place, line in old.items() if place not in new]
    return tuple(one for one in (*found, *gone) if one is not None)


def _placed(lines: Sequence[Line]) -> dict[_Place, Line]:
    placed: dict[_Place, Line] = {}
    for line in lines:
        named = (line.characteristic, line.requirement, line.basis)
        placed[*named, sum(place[:3] == named for place in placed)] = line
    return placed


def _change(before: Line | None, after: Line) -> LineChange | None:
    new = asdict(after)
    if before is None:
        return LineChange(
            characteristic=after.characteristic, what="new", before={}, after=_said(new)
        )
    old = asdict(before)
    moved = [name for name, value in new.items() if old[name] != value]
    if not moved:
        return None
    return LineChange(
        characteristic=after.characteristic,
        what="changed",
        before={name: old[name] for name in moved},
        after={name: new[name] for name in moved},
    )


def _gone(line: Line) -> LineChange:
    said = _said(asdict(line))
    return LineChange(characteristic=line.characteristic, what="gone", before=said, after={})


def _said(facts: Mapping[str, Any]) -> dict[str, Any]:
    return {
        name: value
        for name, value in facts.items()
        if value is not None and value is not False and value != ""
    }


def _name(name: str) -> str:
    return name.replace("_", " ")


def _value(value: Any) -> str:
    if value is None or value == "":
        return "none"
    if isinstance(value, bool):
        return "yes" if value else "no"
    # As it was approved, not rounded for reading.
    return f"{value:,.10g}".replace(",", THIN) if isinstance(value, float) else str(value)
