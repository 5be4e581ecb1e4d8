"""The file that says how people sign in, and how a server is reached beyond its machine."""

import os
import stat
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final
from urllib.parse import urlsplit

from dashboard.gate.listening import Reached, is_loopback
from spc.errors import ServerRefused
from spc.store.people import ROLES

SECRET_VARIABLE: Final = "LOTHEAT_PROVIDER_SECRET"  # noqa: S105 - where it is found

_PROVIDER: Final = frozenset({"name", "metadata", "client", "secret", "groups", "roles"})
_REACHED: Final = frozenset({"at", "certificate", "key", "proxy"})


@dataclass(frozen=True, slots=True, kw_only=True)
class ProviderSettings:
    """A company's OpenID Connect provider, as its administrator registered lotheat there.

    Attributes
    ----------
    name
        What the button is called.
    metadata
        Address of its description, ``.../.well-known/openid-configuration``.
    groups
        The claim that lists a person's groups.
    roles
        From a group to a role here.
    """

    name: str
    metadata: str
    client: str
    secret: str = field(repr=False)
    groups: str = "groups"
    roles: Mapping[str, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Setup:
    """What the file says: who signs people in, and how the server is reached."""

    provider: ProviderSettings
    reached: Reached


def read_setup(path: Path, *, environment: Mapping[str, str] = os.environ) -> Setup:
    """Read the file; the provider's secret may stand in the environment instead.

    Raises
    ------
    ServerRefused
        If it cannot be read, others may read the secret in it, or a value is missing or odd.
    """
    told = _told(path)
    strange = set(told) - {"provider", "reached"}
    if strange:
        raise _wrong(path, f"{min(strange)!r} is not known.", "Remove it, or see the README.")
    return Setup(
        provider=_provider(path, _section(path, told, "provider", _PROVIDER), environment),
        reached=_reached(path, _section(path, told, "reached", _REACHED)),
    )


def _told(path: Path) -> dict[str, Any]:
    try:
        told = tomllib.loads(path.read_text(encoding="utf-8"))
    except OSError as problem:
        raise _wrong(path, f"{problem.strerror}.", "Check the path and its rights.") from problem
    except ValueError as problem:
        raise _wrong(path, f"it is no TOML: {problem}.", "Correct it.") from problem
    return told


def _section(
    path: Path, told: Mapping[str, Any], name: str, known: frozenset[str]
) -> Mapping[str, Any]:
    section = told.get(name, {})
    if not isinstance(section, dict):
        raise _wrong(path, f"{name} is no table.", f"Write [{name}] above its values.")
    strange = set(section) - known
    if strange:
        words = ", ".join(sorted(known))
        raise _wrong(path, f"[{name}] knows no {min(strange)!r}.", f"Use one of: {words}.")
    return section


def _provider(
    path: Path, said: Mapping[str, Any], environment: Mapping[str, str]
) -> ProviderSettings:
    if "secret" in said and stat.S_IMODE(path.stat().st_mode) & 0o077:
        raise _wrong(
            path,
            "it holds a secret, and others may read it.",
            f"Make it your own with `chmod 600`, or give the secret in {SECRET_VARIABLE}.",
        )
    given = {"secret": environment.get(SECRET_VARIABLE, ""), **said}
    for name in ("name", "metadata", "client", "secret"):
        if not isinstance(given.get(name), str) or not given[name]:
            raise _wrong(path, f"[provider] does not say its {name}.", f'Add {name} = "...".')
    roles = given.get("roles", {})
    if not isinstance(roles, dict) or not all(isinstance(one, str) for one in roles.values()):
        raise _wrong(
            path, "[provider.roles] is no table of names.", 'Write "group" = "QA officer" in it.'
        )
    strange = sorted(set(roles.values()) - set(ROLES))
    if strange:
        raise _wrong(
            path,
            f"[provider.roles] knows no role {strange[0]!r}.",
            f"Use one of: {', '.join(ROLES)}.",
        )
    _safe_address(path, str(given["metadata"]))
    return ProviderSettings(
        name=given["name"],
        metadata=given["metadata"],
        client=given["client"],
        secret=given["secret"],
        groups=str(given.get("groups", "groups")),
        roles=roles,
    )


def _safe_address(path: Path, metadata: str) -> None:
    parts = urlsplit(metadata)
    if parts.scheme != "https" and not (parts.scheme == "http" and is_loopback(parts.hostname)):
        raise _wrong(
            path,
            f"the provider's metadata address {metadata!r} does not begin with https://.",
            "Whoever can change that answer can sign in as anybody: use its https address.",
        )


def _reached(path: Path, said: Mapping[str, Any]) -> Reached:
    for name, value in said.items():
        if not isinstance(value, str):
            raise _wrong(path, f"[reached] {name} is no text.", f'Write {name} = "...".')

    def file(name: str) -> Path | None:
        return path.parent / said[name] if said.get(name) else None

    return Reached(
        at=said.get("at", ""),
        certificate=file("certificate"),
        key=file("key"),
        proxy=said.get("proxy", ""),
    )


def _wrong(path: Path, what: str, remedy: str) -> ServerRefused:
    return ServerRefused(what, where=str(path), remedy=remedy)
