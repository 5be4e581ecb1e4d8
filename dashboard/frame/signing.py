"""The dialog in which something is signed; the secret is typed on the server's own page in it."""

import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final
from urllib.parse import urlencode

import streamlit as st

from dashboard.frame import acting, errands, signing_words
from dashboard.frame.errands import Errand
from dashboard.frame.escaping import marked
from dashboard.frame.session import store, tell, warn
from spc.errors import LotHeatError
from spc.store.people import Proof, Request

PLACE: Final = "/sign"

_LOOKED_AGAIN_S: Final = 0.7
# Looking again counts as use of the session, which is to end when nobody uses it.
_PATIENCE_S: Final = 600.0
# Pixels of the page with nothing in it, of a row, and at most; and the signs of a row.
_LOWEST, _ROW, _HIGHEST = 330, 25, 760
_A_ROW = 70


def _nothing(*_: Any) -> None:
    """Nothing more is to be done."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Signing:
    """Requests in the dialog, and what the screen does afterwards.

    Attributes
    ----------
    signed
        How many had signed each request when the dialog was opened.
    """

    signed: Mapping[str, int]
    then: Callable[[], None]
    refused: Callable[[], None]
    opened_at: float


def ask(
    *make: Callable[[Proof], Request],
    then: Callable[[], None] = _nothing,
    refused: Callable[[], None] = _nothing,
) -> None:
    """Write down what is to be signed, and open the dialog; say why, where that is refused.

    Parameters
    ----------
    make
        Each asks the store for one request, with the proof of who looks at the screen; several are
        signed together.
    then
        Called once everything is signed, or waits for a second person.
    refused
        Called where nothing was signed because of something that the person had not seen.
    """
    made: list[Request] = []
    try:
        made.extend(one(acting.proof()) for one in make)
    except LotHeatError as problem:
        _take_back(made)
        st.error(marked(str(problem)))
        refused()
        return
    show(made, then=then, refused=refused)


def show(
    requests: Sequence[Request],
    *,
    then: Callable[[], None] = _nothing,
    refused: Callable[[], None] = _nothing,
) -> None:
    """Open the dialog for requests that there are, such as those that wait for a second person."""
    here = _Signing(
        signed={one.request: len(one.signatures) for one in requests},
        then=then,
        refused=refused,
        opened_at=time.monotonic(),
    )
    rows = sum(_rows(value) for one in requests for value in one.about.values())
    opened = st.dialog(signing_words.TITLE, on_dismiss=lambda: _left(here), width="medium")
    opened(_ceremony)(here, min(_LOWEST + _ROW * rows, _HIGHEST))


def _rows(value: Any) -> int:
    """About how many rows a fact takes in the dialog."""
    if isinstance(value, (list, tuple)):
        return sum(map(_rows, value))
    if isinstance(value, Mapping):
        return len(value)
    return 1 + len(str(value)) // _A_ROW


def errand(
    title: str,
    told: Sequence[tuple[str, str]],
    *,
    do: Callable[[Proof], Any],
    then: Callable[[Any], None] = _nothing,
) -> None:
    """Open the dialog for a deed that asks for a secret and is no request.

    Parameters
    ----------
    told
        What is shown above the secret.
    do
        Does it with the proof that the secret was given.
    then
        Takes what `do` answered, before the page runs again.
    """
    made = Errand(title=title, told=tuple(told), do=do, key=acting.key())
    name = errands.keep(made)
    opened = st.dialog(signing_words.TITLE, on_dismiss=lambda: errands.forget(name), width="medium")
    height = min(_LOWEST + _ROW * len(told), _HIGHEST)
    opened(_errand)(name, made, then, height, time.monotonic())


def _ceremony(here: _Signing, height: int) -> None:
    st.iframe(f"{PLACE}?{urlencode([('request', one) for one in here.signed])}", height=height)
    _signed_yet(here)


@st.fragment(run_every=_LOOKED_AGAIN_S)
def _signed_yet(here: _Signing) -> None:
    found = _requests(here)
    done = all(one.complete and len(one.signatures) > here.signed[one.request] for one in found)
    ended = any(one.ended for one in found)
    waits = all(one.state == "waiting" and not here.signed[one.request] for one in found)
    over = done or (not (ended or waits) and _tired(here.opened_at))
    if ended:
        over = st.button(signing_words.SHOW_NEW, type="primary")
    elif waits:
        over = st.button(signing_words.LATER)
    if over:
        _left(here)
        st.rerun()


def _errand(
    name: str, made: Errand, then: Callable[[Any], None], height: int, opened_at: float
) -> None:
    st.iframe(f"{PLACE}?{urlencode({'request': name})}", height=height)
    _done_yet(name, made, then, opened_at)


@st.fragment(run_every=_LOOKED_AGAIN_S)
def _done_yet(name: str, made: Errand, then: Callable[[Any], None], opened_at: float) -> None:
    if made.done:
        then(made.answer)
    if made.done or _tired(opened_at):
        errands.forget(name)
        st.rerun()


def _tired(opened_at: float) -> bool:
    return time.monotonic() - opened_at > _PATIENCE_S


def _requests(here: _Signing) -> list[Request]:
    return [store().signing.one(one) for one in here.signed]


def _left(here: _Signing) -> None:
    """The dialog is closed: what nobody has signed is taken back, what waits goes on waiting."""
    found = _requests(here)
    ended = [one for one in found if one.ended]
    _take_back(found)
    if ended:
        warn(signing_words.told(ended))
        here.refused()
    elif any(len(one.signatures) > here.signed[one.request] for one in found):
        tell(signing_words.told(found))
        here.then()


def _take_back(requests: Sequence[Request]) -> None:
    for one in requests:
        if one.state == "open":
            store().signing.decline(one.request, by=acting.proof(), reason=signing_words.CLOSED)
