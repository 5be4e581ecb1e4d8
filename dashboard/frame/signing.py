"""The dialog in which something is signed; the secret is typed on the server's own page in it."""

import time
from collections.abc import Callable, Mapping, Sequence
from typing import Any, Final
from urllib.parse import urlencode

import streamlit as st

from dashboard.frame import acting, errands, signing_words
from dashboard.frame.errands import Errand
from dashboard.frame.session import store, tell
from spc.errors import LotHeatError
from spc.store.people import Proof, Request

PLACE: Final = "/sign"

_LOOKED_AGAIN_S: Final = 0.7
# Looking again counts as use of the session, which is to end when nobody uses it.
_PATIENCE_S: Final = 600.0
_LOWEST, _ROW, _HIGHEST = 420, 26, 700


def _nothing(*_: Any) -> None:
    """Nothing more is to be done."""


def ask(
    make: Callable[[Proof], Request | Sequence[Request]], *, then: Callable[[], None] = _nothing
) -> None:
    """Write down what is to be signed, and open the dialog; say why, where that is refused.

    Parameters
    ----------
    make
        Asks the store, with the proof of who looks at the screen.
    then
        Called once everything is signed, or waits for a second person.
    """
    try:
        made = make(acting.proof())
    except LotHeatError as problem:
        st.error(str(problem))
        return
    show([made] if isinstance(made, Request) else made, then=then)


def show(requests: Sequence[Request], *, then: Callable[[], None] = _nothing) -> None:
    """Open the dialog for requests that there are, such as those that wait for a second person."""
    signed = {one.request: len(one.signatures) for one in requests}
    height = min(_LOWEST + _ROW * sum(len(one.about) for one in requests), _HIGHEST)
    opened = st.dialog(signing_words.TITLE, on_dismiss=lambda: _left(signed, then), width="medium")
    opened(_ceremony)(signed, then, height, time.monotonic())


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


def _ceremony(
    signed: Mapping[str, int], then: Callable[[], None], height: int, opened_at: float
) -> None:
    st.iframe(f"{PLACE}?{urlencode([('request', one) for one in signed])}", height=height)
    _signed_yet(signed, then, opened_at)


@st.fragment(run_every=_LOOKED_AGAIN_S)
def _signed_yet(signed: Mapping[str, int], then: Callable[[], None], opened_at: float) -> None:
    found = _requests(signed)
    if all(one.complete and len(one.signatures) > signed[one.request] for one in found):
        _over(found, then)
        st.rerun()
    if any(one.ended for one in found):
        if st.button(signing_words.SHOW_NEW, type="primary"):
            st.rerun()
    elif all(one.state == "waiting" and not signed[one.request] for one in found):
        if st.button(signing_words.LATER):
            _over(found, then)
            st.rerun()
    elif _tired(opened_at):
        _left(signed, then)
        st.rerun()


def _errand(
    name: str, made: Errand, then: Callable[[Any], None], height: int, opened_at: float
) -> None:
    st.iframe(f"{PLACE}?{urlencode({'errand': name})}", height=height)
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


def _requests(signed: Mapping[str, int]) -> list[Request]:
    return [store().signing.one(one) for one in signed]


def _left(signed: Mapping[str, int], then: Callable[[], None]) -> None:
    """The dialog was closed: what nobody has signed is taken back, what waits goes on waiting."""
    for one in _requests(signed):
        if one.state == "open":
            store().signing.decline(one.request, by=acting.proof(), reason=signing_words.CLOSED)
    found = _requests(signed)
    if any(len(one.signatures) > signed[one.request] for one in found):
        _over(found, then)


def _over(found: Sequence[Request], then: Callable[[], None]) -> None:
    tell(signing_words.told(found))
    then()
