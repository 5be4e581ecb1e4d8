"""`lotheat people`: who works with the store, what they may do, and who else sends files.

Where nobody has an account yet, the computer's user acts; else an administrator gives name and
secret; see `acting`.  While a server shows the store, it is asked.
"""

from pathlib import Path
from typing import Annotated, Any, Final

import typer

from dashboard.command import acting
from dashboard.command import people_tables as tables
from dashboard.command.acting import AsOption
from dashboard.command.terminal import (
    ERR,
    OUT,
    JsonOption,
    StoreOption,
    existing,
    place,
    print_json,
    print_table,
)
from dashboard.gate.issuer import issuer
from dashboard.gate.setup import read_setup
from dashboard.server import handover, register
from spc.store import Store
from spc.store.people import ROLES, SENDER_DEEDS

people: Final = typer.Typer(
    no_args_is_help=True, help="Register people and what they may do, and tokens of senders."
)

PersonArgument = Annotated[str, typer.Argument(help="The person's sign-in name.")]
RoleOption = Annotated[
    list[str] | None, typer.Option("--role", help=f"One of: {', '.join(ROLES)}; may be repeated.")
]
SignInOption = Annotated[
    str | None, typer.Option("--sign-in", help="The name to sign in with, such as mara.quill.")
]
EmailOption = Annotated[str | None, typer.Option("--email", help="Where notices are sent.")]
ProviderOption = Annotated[
    str | None,
    typer.Option("--provider", help="Who they are at the company's provider: issuer#subject."),
]
ReasonOption = Annotated[str, typer.Option("--reason", help="Why; stands in the audit chain.")]


@people.command("list", epilog="Example: lotheat people list --json")
def listed(*, store: StoreOption = None, as_json: JsonOption = False) -> None:
    """Everybody in the register, and every token that has not been ended."""
    told = _carried_out(store, "list", {})
    if as_json:
        print_json(told)
        return
    print_table(tables.people_table(told["people"]))
    if any(not one["ended"] for one in told["tokens"]):
        OUT.print()
        print_table(tables.tokens_table(told["tokens"]))
    if not told["people"]:
        ERR.print("Nobody is registered; the computer's user acts.")


@people.command(
    epilog="Example: lotheat people invite 'Mara Quill' --sign-in mara --role 'QA lead'"
    " --role administrator"
)
def invite(  # noqa: PLR0913 - what is told of a person
    name: Annotated[str, typer.Argument(help="The person's name, as it is to be printed.")],
    *,
    sign_in: SignInOption = None,
    role: RoleOption = None,
    email: EmailOption = None,
    provider: ProviderOption = None,
    reason: ReasonOption = "joins the house",
    as_name: AsOption = "",
    store: StoreOption = None,
) -> None:
    """Enter a person; prints the code with which they choose a secret, once, within 72 hours."""
    given = {
        "name": name,
        "sign_in": sign_in or "",
        "roles": role or [],
        "email": email,
        "provider": provider,
        "reason": reason,
    }
    told = _carried_out(store, "invite", given, as_name=as_name, make=True)
    _hand_out(
        told["code"],
        f"The code is for {name}, who opens /join/ and the code at the address of"
        " `lotheat serve`; it opens one account once, and holds 72 hours.",
    )


@people.command(epilog="Example: lotheat people again mara --machine")
def again(
    person: PersonArgument,
    *,
    machine: Annotated[
        bool,
        typer.Option(
            "--machine",
            help="As the computer's user: for an administrator, where none can sign in.",
        ),
    ] = False,
    as_name: AsOption = "",
    store: StoreOption = None,
) -> None:
    """Let a person choose a new secret; the old one holds until they have."""
    given = {"person": person, "machine": machine}
    told = _carried_out(store, "again", given, as_name=as_name, machine=machine)
    _hand_out(
        told["code"],
        f"The code is for {person}, who opens /join/ and the code at the address of"
        " `lotheat serve` and chooses a secret; it holds 72 hours.",
    )


@people.command(epilog="Example: lotheat people change mara --role 'QA lead' --reason 'new post'")
def change(  # noqa: PLR0913 - what is told of a person
    person: PersonArgument,
    *,
    name: Annotated[str | None, typer.Option("--name", help="The new name.")] = None,
    sign_in: SignInOption = None,
    role: RoleOption = None,
    email: EmailOption = None,
    provider: ProviderOption = None,
    reason: ReasonOption,
    as_name: AsOption = "",
    store: StoreOption = None,
) -> None:
    """Change what is known of a person or may be done by them; lets in again who had left."""
    given = {
        "person": person,
        "name": name,
        "sign_in": sign_in,
        "roles": role or None,
        "email": email,
        "provider": provider,
        "reason": reason,
    }
    told = _carried_out(store, "change", given, as_name=as_name)
    print_table(tables.people_table(told["people"]))


@people.command(epilog="Example: lotheat people end jonas --reason 'left in spring'")
def end(
    person: PersonArgument,
    *,
    reason: ReasonOption,
    as_name: AsOption = "",
    store: StoreOption = None,
) -> None:
    """End a person's access and every session of theirs; what they signed stays."""
    _carried_out(store, "end", {"person": person, "reason": reason}, as_name=as_name)
    ERR.print(f"{person} can no longer sign in")


@people.command(epilog="Example: lotheat people token 'Bench 2' --for 'receive files' --days 90")
def token(  # noqa: PLR0913 - what is told of a token
    sender: Annotated[str, typer.Argument(help="Who sends; with --end, the token as listed.")],
    *,
    scope: Annotated[
        list[str] | None,
        typer.Option("--for", help=f"One of: {', '.join(SENDER_DEEDS)}; may be repeated."),
    ] = None,
    days: Annotated[int, typer.Option("--days", help="How long it holds, at most 400.")] = 90,
    ended: Annotated[bool, typer.Option("--end", help="End it instead of issuing one.")] = False,
    reason: ReasonOption = "sends files",
    as_name: AsOption = "",
    store: StoreOption = None,
) -> None:
    """Issue a token for a sender, printed once; or end one."""
    if ended:
        given: dict[str, Any] = {"token": sender, "reason": reason}
        _carried_out(store, "end token", given, as_name=as_name)
        ERR.print(f"the token {sender} opens nothing any more")
        return
    given = {
        "sender": sender,
        "scope": scope or ["receive files"],
        "days": days,
        "reason": reason,
    }
    told = _carried_out(store, "token", given, as_name=as_name)
    _hand_out(
        told["key"], f"The token is for {sender} until {told['until']}; it is not shown again."
    )


@people.command(
    epilog="Example: lotheat people groups company.toml --reason 'a new group' --as mara"
)
def groups(
    file: Annotated[Path, typer.Argument(help="The sign-in file (TOML) of `lotheat serve`.")],
    *,
    reason: ReasonOption,
    as_name: AsOption = "",
    store: StoreOption = None,
) -> None:
    """Make what a sign-in file says of the company's groups the rule of the house."""
    settings = read_setup(file).provider
    given = {"issuer": issuer(settings.metadata), "roles": settings.roles, "reason": reason}
    _carried_out(store, "groups", given, as_name=as_name)
    ERR.print(
        "; ".join(f"{group}: {role}" for group, role in settings.roles.items())
        or "no group gives a role; the register alone does",
        markup=False,
        soft_wrap=True,
    )


@people.command("first-day", epilog="Example: lotheat people first-day 2026-11-20")
def first_day(
    day: Annotated[str, typer.Argument(help="Such as 2026-11-20.")],
    *,
    reason: ReasonOption = "first day of this record",
    as_name: AsOption = "",
    store: StoreOption = None,
) -> None:
    """Sign the first day of this record: decisions from before it may come in by file."""
    _carried_out(store, "first day", {"day": day, "reason": reason}, as_name=as_name)
    ERR.print(f"decisions from {day} on are signed here, not received")


def _carried_out(
    store: Path | None,
    verb: str,
    given: dict[str, Any],
    *,
    as_name: str = "",
    make: bool = False,
    machine: bool = False,
) -> dict[str, Any]:
    """What a verb tells: asked of the running server if there is one, else of the store's file.

    Parameters
    ----------
    make
        Whether a store that is not there is made.
    machine
        Whether the computer's user acts even where people sign in.
    """
    asks = verb not in register.LOOKS and not machine
    server = handover.running(place(store))
    if server is not None:
        alone = not asks or handover.registered(server, "alone", {}, person=None)["alone"]
        person = None if alone else acting.asked(as_name)
        return handover.registered(server, verb, given, person=person)
    with Store.open(place(store)) if make else existing(store) as opened:
        return register.carry_out(
            opened.people, verb, given, by=lambda: acting.signed(opened, as_name)
        )


def _hand_out(key: str, sentence: str) -> None:
    OUT.print(key, soft_wrap=True)
    ERR.print(sentence, soft_wrap=True)
