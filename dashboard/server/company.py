"""People come in at the company's provider, and the store's register says who they are."""

import logging
from collections.abc import Mapping
from datetime import UTC, datetime
from typing import Final

from dashboard.frame import errands
from dashboard.frame.errands import Errand
from dashboard.gate import words
from dashboard.gate.answered import Answered
from dashboard.gate.authority import Authority
from dashboard.gate.entrance import Entrance
from dashboard.gate.listening import Listening
from dashboard.gate.provider import Asked, Entering, Provider, Signing
from dashboard.gate.setup import ProviderSettings
from dashboard.server.served import Served, registered
from spc.errors import ProviderRefused
from spc.store import Store
from spc.store.desks.people_desk import PeopleDesk
from spc.store.people import GROUPS, Answer, Claims, bundle

_LOG: Final = logging.getLogger(__name__)


def for_company(listening: Listening, settings: ProviderSettings, store: Store) -> Served:
    """People sign in at the company's provider; sessions and signatures are the register's."""
    people = store.people

    def signed_in(answer: Answered) -> str:
        _tell_roles(people, answer.iss, settings.roles)
        return people.sign_in_at_provider(_claims(answer))

    entering = Entering(
        signed_in=signed_in,
        invited=lambda code: people.invited(code).name,
        joined=lambda code, answer: people.join(code, _claims(answer)),
    )
    provider = Provider(
        Authority(settings, base=listening.base),
        cookie=listening.cookie,
        entering=entering,
        signing=_signing(store),
    )
    entrance = Entrance(
        lookup=lambda key: registered(people, key, way="provider"),
        end=people.end_session,
        cookie=listening.cookie,
        ways=(provider,),
        farewell=provider.farewell,
    )
    return Served(
        listening=listening,
        entrance=entrance,
        welcome=words.started(listening.base, "", user="", visited=False),
        provider=settings.name,
    )


def _signing(store: Store) -> Signing:
    people, desk = store.people, store.signing

    def digest(requests: tuple[str, ...], key: str) -> str:
        if errands.is_one(requests):
            return _errand(requests[0], key).sha256
        return bundle([desk.one(one).sha256 for one in requests or ("",)])

    def signed(answer: Answered, asked: Asked, key: str) -> None:
        shown = Answer(
            iss=answer.iss,
            sub=answer.sub,
            nonce=answer.nonce,
            auth_time=answer.auth_time,
            id_token=answer.id_token,
            keys=answer.keys,
        )
        proof = people.signed_at_provider(
            "" if asked.second else key,
            shown,
            about=asked.digest,
            asked_at=datetime.fromtimestamp(asked.at, UTC).replace(tzinfo=None),
        )
        if errands.is_one(asked.requests):
            _errand(asked.requests[0], key).carry_out(proof)
        else:
            desk.sign(*asked.requests, by=proof)

    return Signing(digest=digest, signed=signed)


def _errand(name: str, key: str) -> Errand:
    found = errands.found(name, key=key)
    if found is None:
        raise ProviderRefused(
            "this is no longer to be signed.", remedy="Open it again from its page."
        )
    return found


def _claims(answer: Answered) -> Claims:
    return Claims(
        iss=answer.iss, sub=answer.sub, name=answer.name, email=answer.email, groups=answer.groups
    )


def _tell_roles(people: PeopleDesk, issuer: str, roles: Mapping[str, str]) -> None:
    """Make what the sign-in file says of groups a house rule, as long as nobody has an account.

    From then on only an administrator changes it, under their signature: whoever can write the
    file must not be able to make themselves a QA lead.
    """
    if not roles or people.groups().get(issuer) == roles:
        return
    if people.alone:
        people.set_rule(
            GROUPS,
            {issuer: dict(roles)},
            by=people.system_user(),
            reason="as the sign-in file says, before anybody had an account",
        )
        return
    _LOG.warning(
        "[provider.roles] of the sign-in file is not what counts here: an administrator sets it"
        " with `lotheat people groups FILE`"
    )
