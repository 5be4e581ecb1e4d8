"""The company's OpenID Connect provider: sent to, and what it answers, checked."""

import json
import secrets
from http import HTTPStatus
from typing import Any, Final
from urllib.parse import urlencode

import httpx2
from authlib.common.errors import AuthlibBaseError
from authlib.integrations.starlette_client import OAuth
from joserfc.errors import JoseError
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from dashboard.gate.answered import Answered, answered
from dashboard.gate.setup import ProviderSettings
from spc.errors import ProviderRefused, ProviderSilent

DONE: Final = "/login/done"

_FLOW: Final = "lotheat"
_NEEDED: Final = ("issuer", "authorization_endpoint", "token_endpoint", "jwks_uri")
# What a forged, stale or odd answer makes the libraries raise; ValueError: no JSON where it should
# be; TypeError, KeyError: JSON of another shape.
_ODD: Final = (AuthlibBaseError, JoseError, ValueError, TypeError, KeyError)


class Authority:
    """One provider, by the code flow with PKCE.

    Parameters
    ----------
    base
        Origin of this server: the provider sends people back to it.
    """

    def __init__(self, settings: ProviderSettings, *, base: str) -> None:
        self.settings, self._base, self._back = settings, base, base + DONE
        self._client: Any = OAuth().register(
            "company",
            client_id=settings.client,
            client_secret=settings.secret,
            server_metadata_url=settings.metadata,
            client_kwargs={"scope": "openid profile email", "code_challenge_method": "S256"},
        )

    async def send(self, request: Request, flow: dict[str, Any], **asked: Any) -> Response:
        """Send a browser to the provider.

        Parameters
        ----------
        flow
            What is to be done with the answer; it is kept in the browser, signed, until then.
        asked
            Said to the provider: prompt, max_age, nonce.

        Raises
        ------
        ProviderSilent
            If the provider does not describe itself.
        """
        await self._described()
        state = secrets.token_urlsafe(32)
        begun = await self._client.create_authorization_url(self._back, state=state, **asked)
        await self._client.save_authorize_data(request, redirect_uri=self._back, **begun)
        request.session[_FLOW] = {"state": state, **flow}
        return RedirectResponse(begun["url"], HTTPStatus.SEE_OTHER)

    async def received(self, request: Request) -> tuple[Answered, dict[str, Any]]:
        """What the provider answered, and what was to be done with it.

        Raises
        ------
        ProviderRefused
            If the answer was not asked for by this browser, or does not hold.
        ProviderSilent
            If the provider could not be asked what the answer stands for.
        """
        flow = request.session.pop(_FLOW, None)
        state = request.query_params.get("state", "")
        if flow is None or not state or flow["state"] != state:
            raise _not_asked_for()
        await self._described()
        try:
            token = await self._client.authorize_access_token(request)
            keys = await self._client.fetch_jwk_set()
            claims = token["userinfo"]
        except httpx2.HTTPError as problem:
            raise _silent(problem) from problem
        except _ODD as problem:
            raise _does_not_hold(problem) from problem
        told = answered(
            claims,
            settings_groups=self.settings.groups,
            id_token=token["id_token"],
            keys=json.dumps(keys, sort_keys=True),
        )
        return told, flow

    async def way_out(self, back: str) -> str:
        """Where a person ends their session with the provider, to come back to a place here.

        Empty if it has no such place, or does not answer: then there is nothing to offer.
        """
        try:
            found = await self._client.load_server_metadata()
        except (httpx2.HTTPError, httpx2.InvalidURL, ValueError):
            return ""
        end = found.get("end_session_endpoint")
        if not isinstance(end, str):
            return ""
        told = {"client_id": self.settings.client, "post_logout_redirect_uri": self._base + back}
        return f"{end}{'&' if '?' in end else '?'}{urlencode(told)}"

    async def _described(self) -> None:
        """Have the provider's description at hand."""
        try:
            found = await self._client.load_server_metadata()
        except (httpx2.HTTPError, httpx2.InvalidURL, ValueError) as problem:
            raise _silent(problem) from problem
        missing = [name for name in _NEEDED if not isinstance(found.get(name), str)]
        if missing:
            raise ProviderSilent(
                f"the provider's description lacks {missing[0]}.",
                remedy="Check the metadata address in the sign-in file.",
            )


def _not_asked_for() -> ProviderRefused:
    return ProviderRefused(
        "this browser did not ask for that sign-in, or asked for another one since.",
        remedy="Begin again from the sign-in page.",
    )


def _does_not_hold(problem: Exception) -> ProviderRefused:
    if isinstance(problem, AuthlibBaseError) and problem.error == "access_denied":
        return ProviderRefused(
            "it was broken off at the provider.", remedy="Begin again from the sign-in page."
        )
    return ProviderRefused(
        f"the answer does not hold ({type(problem).__name__}).",
        remedy="Begin again from the sign-in page; if it happens again, show this to whoever looks"
        " after the company's sign-in.",
    )


def _silent(problem: Exception) -> ProviderSilent:
    return ProviderSilent(
        f"the company's sign-in does not answer ({type(problem).__name__}).",
        remedy="Try again in a minute; if it stays so, tell whoever looks after it.",
    )
