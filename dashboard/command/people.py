"""`lotheat people`: who works with the store, what they may do, and who else sends files.

Where nobody has an account yet, the computer's user acts; else an administrator gives name and
secret; see `acting`.
"""

from datetime import UTC, datetime, timedelta
from typing import Annotated, Final

import typer

from dashboard.command import people_tables as tables
from dashboard.command.acting import AsOption, signed
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
from spc.store import Store
from spc.store.people import ROLES, SENDER_DEEDS, Entry, Grant

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
    with existing(store) as opened:
        everybody, tokens = opened.people.every(), opened.people.tokens()
    if as_json:
        told = {"people": tables.people_told(everybody), "tokens": tables.tokens_told(tokens)}
        print_json(told)
        return
    print_table(tables.people_table(everybody))
    if any(not one.ended for one in tokens):
        OUT.print()
        print_table(tables.tokens_table(tokens))
    if not everybody:
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
    entry = Entry(
        name=name, sign_in=sign_in or "", roles=tuple(role or ()), email=email, provider=provider
    )
    with Store.open(place(store)) as opened:
        code = opened.people.invite(entry, by=signed(opened, as_name), reason=reason)
    _hand_out(
        code,
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
    with existing(store) as opened:
        by = opened.people.system_user() if machine else signed(opened, as_name)
        code = opened.people.invite_again(person, by=by)
    _hand_out(
        code,
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
    entry = Entry(
        name=name,
        sign_in=sign_in,
        roles=tuple(role) if role else None,
        email=email,
        provider=provider,
    )
    with existing(store) as opened:
        after = opened.people.change(person, entry, by=signed(opened, as_name), reason=reason)
    print_table(tables.people_table([after]))


@people.command(epilog="Example: lotheat people end jonas --reason 'left in spring'")
def end(
    person: PersonArgument,
    *,
    reason: ReasonOption,
    as_name: AsOption = "",
    store: StoreOption = None,
) -> None:
    """End a person's access and every session of theirs; what they signed stays."""
    with existing(store) as opened:
        opened.people.end(person, by=signed(opened, as_name), reason=reason)
    ERR.print(f"{person} can no longer sign in", markup=False)


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
    with existing(store) as opened:
        by = signed(opened, as_name)
        if ended:
            opened.people.end_token(sender, by=by, reason=reason)
            ERR.print(f"the token {sender} opens nothing any more", markup=False)
            return
        until = datetime.now(UTC).replace(tzinfo=None) + timedelta(days=days)
        grant = Grant(sender=sender, scope=tuple(scope or ("receive files",)), until=until)
        key = opened.people.issue_token(grant, by=by, reason=reason)
    _hand_out(key, f"The token is for {sender} until {until:%Y-%m-%d}; it is not shown again.")


def _hand_out(key: str, sentence: str) -> None:
    OUT.print(key, markup=False, soft_wrap=True)
    ERR.print(sentence, markup=False, soft_wrap=True)
