"""A small OpenID Connect provider on loopback, and the ways in which one can go wrong."""

import base64
import hashlib
import secrets
import threading
import time
from urllib.parse import urlencode

import uvicorn
from joserfc import jwt
from joserfc.jwk import RSAKey
from starlette.applications import Starlette
from starlette.responses import JSONResponse, PlainTextResponse, RedirectResponse
from starlette.routing import Route

PEOPLE = {
    "mara": ("mara-secret", "Mara Quill", ["qa-lead", "keepers"]),
    "jonas": ("jonas-secret", "Jonas Terrow", ["qa", "canteen"]),
    "petra": ("petra-secret", "Petra Lind", []),
    "guest": ("guest-secret", "Some Guest", ["canteen"]),
}


class Company:
    """The provider, in a thread of the test's own process.

    Attributes
    ----------
    asked
        What browsers were sent with.
    claims
        Put over the claims of the next tokens; None takes one out.
    breaks
        Answered in place of a token.
    key
        Signs tokens; another than the published one is a forger's.
    """

    def __init__(self, port):
        self.issuer = f"http://127.0.0.1:{port}"
        self.metadata = f"{self.issuer}/.well-known/openid-configuration"
        self.published = RSAKey.generate_key(2048, {"kid": "k1", "use": "sig"})
        self.asked = []
        self.behave()
        self._codes = {}
        self._known = {}
        routes = [
            Route("/.well-known/openid-configuration", self._described),
            Route("/jwks", self._keys),
            Route("/authorize", self._authorize, methods=["GET", "POST"]),
            Route("/token", self._token, methods=["POST"]),
            Route("/end", self._end),
        ]
        config = uvicorn.Config(
            Starlette(routes=routes), host="127.0.0.1", port=port, log_level="warning", ws="none"
        )
        self._server = uvicorn.Server(config)
        self._thread = threading.Thread(target=self._server.run)

    def behave(self):
        """Answer as a provider should."""
        self.claims, self.key, self.always_asks = {}, self.published, True
        self.breaks = None

    def start(self):
        self._thread.start()
        while not self._server.started:
            time.sleep(0.01)

    def stop(self):
        self._server.should_exit = True
        self._thread.join()

    async def _described(self, _request):
        return JSONResponse(
            {
                "issuer": self.issuer,
                "authorization_endpoint": f"{self.issuer}/authorize",
                "token_endpoint": f"{self.issuer}/token",
                "jwks_uri": f"{self.issuer}/jwks",
                "end_session_endpoint": f"{self.issuer}/end",
                "response_types_supported": ["code"],
                "subject_types_supported": ["public"],
                "id_token_signing_alg_values_supported": ["RS256"],
                "code_challenge_methods_supported": ["S256"],
            }
        )

    async def _keys(self, _request):
        return JSONResponse({"keys": [self.published.as_dict(private=False)]})

    async def _authorize(self, request):
        query = dict(request.query_params)
        if request.method == "POST":
            form = await request.form()
            if PEOPLE.get(form["user"], ("",))[0] != form["password"]:
                return PlainTextResponse("wrong", 401)
            visit = secrets.token_urlsafe(8)
            self._known[visit] = (form["user"], int(time.time()))
            answer = self._coded(query, *self._known[visit])
            answer.set_cookie("company", visit, httponly=True)
            return answer
        self.asked.append(query)
        known = self._known.get(request.cookies.get("company", ""))
        fresh = query.get("prompt") == "login" and self.always_asks
        if known is not None and not fresh:
            return self._coded(query, *known)
        return PlainTextResponse("who are you?")

    def _coded(self, query, user, at):
        code = secrets.token_urlsafe(16)
        self._codes[code] = (user, at, query)
        back = urlencode({"code": code, "state": query["state"]})
        return RedirectResponse(f"{query['redirect_uri']}?{back}", 302)

    async def _end(self, request):
        self._known.pop(request.cookies.get("company", ""), None)
        return RedirectResponse(request.query_params["post_logout_redirect_uri"], 302)

    async def _token(self, request):
        form = await request.form()
        if self.breaks is not None:
            return self.breaks
        found = self._codes.pop(form.get("code", ""), None)
        if found is None:
            return JSONResponse({"error": "invalid_grant"}, 400)
        user, at, query = found
        shown = hashlib.sha256(form["code_verifier"].encode()).digest()
        if base64.urlsafe_b64encode(shown).rstrip(b"=").decode() != query["code_challenge"]:
            return JSONResponse({"error": "invalid_grant"}, 400)
        now = int(time.time())
        _, name, groups = PEOPLE[user]
        claims = {
            "iss": self.issuer,
            "sub": f"u-{user}",
            "aud": query["client_id"],
            "iat": now,
            "exp": now + 60,
            "auth_time": at,
            "nonce": query.get("nonce"),
            "name": name,
            "email": f"{user}@example.com",
            "groups": groups,
            **self.claims,
        }
        claims = {name: value for name, value in claims.items() if value is not None}
        token = jwt.encode({"alg": "RS256", "kid": "k1"}, claims, self.key)
        return JSONResponse(
            {"access_token": "a", "token_type": "Bearer", "expires_in": 60, "id_token": token}
        )
