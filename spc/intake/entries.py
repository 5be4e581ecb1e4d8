"""Entries of a TOML file against the dataclass they become: the first thing that is wrong."""

import math
import types
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import MISSING, fields
from typing import Any, Final, Literal, Union, get_args, get_origin, get_type_hints

_LONGEST_SAID: Final = 120
_KINDS: Final[Mapping[Any, tuple[str, Callable[[Any], bool]]]] = types.MappingProxyType(
    {
        str: ("a text in quotes", lambda value: isinstance(value, str)),
        bool: ("true or false", lambda value: isinstance(value, bool)),
        int: ("a whole number", lambda value: type(value) is int),
        float: ("a number", lambda value: type(value) in (int, float) and math.isfinite(value)),
    }
)


def misfit(kind: type, entry: Mapping[str, Any]) -> str:
    """What keeps an entry from becoming a `kind`, as a sentence; empty if nothing does.

    Parameters
    ----------
    kind
        A dataclass.
    entry
        Key to value, as TOML gives them.
    """
    slots = {one.name: one for one in fields(kind)}
    hints = get_type_hints(kind)
    for key, value in entry.items():
        if key not in slots:
            return f"the key {shortened(repr(key))} means nothing here."
        if wrong := _wrong(value, hints[key]):
            return f"{key} must be {wrong}, not {shortened(repr(value))}."
    for name, one in slots.items():
        if name not in entry and one.default is MISSING and one.default_factory is MISSING:
            return f"the key {name!r} is missing."
    return ""


def shortened(said: object) -> str:
    """What a file says, short enough for a sentence."""
    text = str(said)
    return text if len(text) <= _LONGEST_SAID else f"{text[:_LONGEST_SAID]}…"


def _wrong(value: Any, hint: Any) -> str:
    """What the value should have been; empty if it is."""
    if hint in _KINDS:
        words, fits = _KINDS[hint]
        return "" if fits(value) else words
    origin, inner = get_origin(hint), get_args(hint)
    if origin in (types.UnionType, Union):
        wrong = [_wrong(value, one) for one in inner if one is not type(None)]
        return "" if value is None or "" in wrong else wrong[0]
    if origin is Literal:
        return "" if value in inner else f"one of {', '.join(map(repr, inner))}"
    if origin is tuple:
        return _wrong_parts(value, Sequence, inner[0], "a list")
    if origin is not None:
        return _wrong_parts(value, Mapping, inner[1], "a table")
    return "" if isinstance(value, hint) else f"a {hint.__name__}"


def _wrong_parts(value: Any, kind: type[Any], hint: Any, words: str) -> str:
    if isinstance(value, str) or not isinstance(value, kind):
        return words
    parts: Iterable[Any] = value
    if isinstance(value, Mapping):
        parts = value.values()
    wrong = next(filter(None, (_wrong(part, hint) for part in parts)), "")
    return f"{words} in which each is {wrong}" if wrong else ""
