"""`lotheat specifications`: what waits for an approval, what it would change, and its approval.

Corrections of methods wait and are adopted alike.  What is approved is what is printed: the lots
that would be judged otherwise come before the question.
"""

from datetime import date, datetime
from typing import Annotated, Final

import typer

from dashboard.command.acting import AsOption, signed
from dashboard.command.specifications_tables import (
    approvals_table,
    approvals_told,
    look_lines,
    proposals_table,
    proposals_told,
    turned_down_table,
)
from dashboard.command.terminal import (
    ERR,
    OUT,
    JsonOption,
    StoreOption,
    existing,
    print_json,
    print_table,
)
from spc.store import Store
from spc.store.approving.asking import Approving
from spc.store.approving.proposals import Proposal
from spc.store.people import Proof

specifications: Final = typer.Typer(
    no_args_is_help=True,
    help="Approve or turn down the specifications and corrections that were received.",
)

DayOption = Annotated[
    datetime | None,
    typer.Option(
        "--from",
        formats=["%Y-%m-%d"],
        help="In force from; a day that is past takes two persons.",
        show_default="as the file states, but not before today",
    ),
]


@specifications.command("list", epilog="Example: lotheat specifications list --json")
def listed(*, store: StoreOption = None, as_json: JsonOption = False) -> None:
    """What waits for an approval, and everything that was approved or turned down."""
    with existing(store) as opened:
        waiting, approved = opened.approvals.proposals(), opened.approvals.every()
        turned = opened.approvals.turned_down()
    if as_json:
        print_json(
            {
                "waiting": proposals_told(waiting),
                "approved": approvals_told(approved),
                "turned_down": approvals_told(turned),
            }
        )
        return
    print_table(proposals_table(waiting))
    print_table(approvals_table(approved))
    if turned:
        print_table(turned_down_table(turned))


@specifications.command(
    epilog="Example: lotheat specifications approve 'cayenne powder' --reason 'yearly review'"
)
def approve(
    name: Annotated[
        str, typer.Argument(help="A material or a method; all that waits if not given.")
    ] = "",
    *,
    reason: Annotated[str, typer.Option("--reason", help="Why it is approved.")],
    since: DayOption = None,
    yes: Annotated[bool, typer.Option("--yes", help="Do not ask before it is approved.")] = False,
    as_name: AsOption = "",
    store: StoreOption = None,
) -> None:
    """Look at what waits, and approve it with one signature, the oldest version first."""
    with existing(store) as opened:
        waiting = [one for one in opened.approvals.proposals() if _is_named(one, name)]
        if not waiting:
            ERR.print("nothing waits for an approval")
            return
        by = signed(opened, as_name)
        for one in waiting:
            _approve(opened, one, since.date() if since else None, reason=reason, yes=yes, by=by)


@specifications.command(
    "turn-down",
    epilog="Example: lotheat specifications turn-down 'cayenne powder' --reason 'too narrow'",
)
def turn_down(
    name: Annotated[str, typer.Argument(help="A material or a method.")],
    *,
    reason: Annotated[str, typer.Option("--reason", help="Why it is turned down.")],
    yes: Annotated[bool, typer.Option("--yes", help="Do not ask before it is done.")] = False,
    as_name: AsOption = "",
    store: StoreOption = None,
) -> None:
    """Turn down what waits of a material or a method; it stays in the record."""
    with existing(store) as opened:
        waiting = [one for one in opened.approvals.proposals() if _is_named(one, name)]
        if not waiting:
            ERR.print("nothing waits for an approval")
            return
        by = signed(opened, as_name)
        for one in waiting:
            if yes or typer.confirm(f"Turn down {one.subject}?", err=True):
                done = opened.approvals.turn_down(one.key, reason=reason, by=by)
                told = "turned down" if done.complete else "waits for a second person"
                ERR.print(f"{one.subject}: {told}", markup=False, soft_wrap=True)


def _is_named(one: Proposal, name: str) -> bool:
    return name in ("", one.key.name, one.entry.material, getattr(one.entry, "method", ""))


def _approve(
    opened: Store, one: Proposal, since: date | None, *, reason: str, yes: bool, by: Proof
) -> None:
    """Show what one version would change, ask, and sign."""
    today = opened.today()
    day = since or (today if one.from_approval_on else max(one.stated_from, today))
    look = opened.approvals.look(one.key, since=day)
    for line in look_lines(look):
        OUT.print(line, soft_wrap=True)
    if not yes and not typer.confirm(f"Approve {one.subject}?", err=True):
        return
    seen = look.effect.fingerprint
    wanted = Approving(key=one.key, seen=seen, reason=reason, since=day)
    (done,) = opened.approvals.approve(wanted, by=by)
    alone = ", by one person" if done.alone else ""
    told = f"in force from {day}{alone}" if done.complete else "waits for a second person"
    ERR.print(f"{one.subject}: {told}", soft_wrap=True)
