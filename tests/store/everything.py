"""A store in which everything has happened at least once, so that no table is empty."""

import contextlib
from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import datetime
from typing import Any

from spc.errors import SignInRefused
from spc.store import Choice, Store, StreamKey
from spc.store.blends.drafts import Draft, Portion, Predicted
from spc.store.desks.signing_desk import SigningDesk
from spc.store.file.cursors import Cursor
from spc.store.people import CUT_OVER, Actor, Ask, Grant, Request
from spc.store.record import audit, rows
from tests.approved import in_force
from tests.staff import ines, mara, secret_of

KEY = StreamKey(
    material="cayenne powder", supplier="North Mill", characteristic="heat", method="rapid sensor"
)

MORE_CATALOGUE = """
[[control]]
control = "CS-1"
characteristic = "heat"
assigned = 40000.0
standard_uncertainty = 400.0
source = "made in the house"

[[correction]]
method = "rapid sensor"
characteristic = "heat"
material = "cayenne powder"
version = 1
effective_from = 2026-05-01
against = "liquid chromatography"
approved_by = "Mara Quill"
reason = "reads low against chromatography over 40 lots"
kind = "ratio"
offset = 0.0
slope = 0.92
offset_variance = 0.0
slope_variance = 0.0004
covariance = 0.0
degrees_of_freedom = 39
residual_sd = 0.05
lowest = 20000.0
highest = 60000.0
lots = 40
"""

DRAFT = Draft(
    name="medium for March",
    material="cayenne powder",
    batch_kg=500.0,
    portions=(Portion(lot="HOT", kg=110.0), Portion(lot="MILD", kg=390.0)),
    predicted=(
        Predicted(characteristic="heat", basis="as-is", mean=45_000.0, standard_deviation=1_800.0),
    ),
    target={"heat": {"lower": 42_000, "upper": 48_000}},
    note="first of the year",
)

ASK = Ask(
    deed="concede a lot",
    subject="L-1",
    about={"until": "2027-01-31"},
    rests_on={"evidence": "as it was"},
    meaning="accepted under concession",
    reason="for the sauce only",
)

REASONS = ("for the sauce only", "for the paste only")


class Concession:
    """What a concession rests on; it is not carried out here."""

    def rests_on(self, _cursor: Cursor, _request: Request) -> Mapping[str, Any]:
        return ASK.rests_on

    def news(self, _cursor: Cursor, request: Request) -> str:
        raise AssertionError(request)

    def carry_out(self, _cursor: Cursor, request: Request, *, actor: Actor, at: datetime) -> None:
        raise AssertionError(request, actor, at)


TOXINS = """
profile = "toxins without samples"
[file]
[columns]
lot = "Lot of toxin"
[[measure]]
characteristic = "aflatoxin B1"
method = "liquid chromatography"
reading = "AFB1"
unit = "µg/kg"
"""


def everything(store: Store, source_file: Callable[..., bytes]) -> None:
    """Let everything happen to the stocked store."""
    store.receive_bytes("controls.toml", MORE_CATALOGUE.encode(), by=mara(store))
    in_force(store)
    _a_proposal_that_is_not_taken(store)
    _rows_that_wait(store, source_file)
    _decisions_and_notes(store)
    _blends(store)
    _people(store)
    store._write(_day_of_an_earlier_version)


def _day_of_an_earlier_version(cursor: Cursor) -> None:
    """A day that a received file had set, as an earlier version let it; it counts no more."""
    rows.insert(cursor, "setting", [{"name": "today", "value": "2024-02-29"}])
    audit.record(cursor, actor="an earlier version", action="set the day", subject="it", detail={})


def _a_proposal_that_is_not_taken(store: Store) -> None:
    _, correction = MORE_CATALOGUE.split("[[correction]]")
    second = correction.replace("version = 1", "version = 2").replace("0.92", "0.5")
    store.receive_bytes("second.toml", f"[[correction]]{second}".encode(), by=ines(store))
    (waits,) = store.approvals.proposals()
    store.approvals.turn_down(waits.key, reason="too far off", by=mara(store))


def _rows_that_wait(store: Store, source_file: Callable[..., bytes]) -> None:
    rows = [
        "NEW,7,1,2026-03-14 10:00:00,1.000,1.0,1,8.4,µmol/L",
        "NEW,8,1,2026-03-14 10:05:00,0.1,10,10,90,µmol/L",
        "NEW,9,1,2026-03-14 10:10:00,0.1,10,10,8.3,µmol/L",
        "L-9,1,1,2026-03-14 10:15:00,0.1,10,10,8.3,µmol/L",
    ]
    receipt = store.receive_bytes(
        "waiting.csv", source_file("sensor", *rows), by=ines(store)
    ).receipt
    held = store.held(receipt)["source_row"].tolist()
    store.intake.mend(
        receipt,
        held[:1],
        {"Portion g": "0.1", "Buffer mL": "10"},
        by=mara(store),
        reason="notebook",
    )
    waiting = store.held(receipt)["source_row"].tolist()
    store.intake.dismiss(receipt, waiting[:1], by=ines(store), reason="a trial run")
    # Two rows that speak against a lot's safety, in a source that leaves open what they are.
    text = TOXINS.encode()
    store.receive_bytes("toxins.toml", text, by=mara(store))
    twice = b"Lot of toxin,AFB1\nL-2,0.9\nL-2,19\n"
    doubtful = store.receive_bytes("toxins.csv", twice, by=ines(store)).receipt
    store.intake.confirm(doubtful, [3], by=mara(store), reason="a second extract")


def _decisions_and_notes(store: Store) -> None:
    store.dispose("NEW", "on hold", by=ines(store), reason="await toxins")
    store.dispose("NEW", "rejected", by=mara(store), reason="too mild")
    store.freeze_baseline(KEY, Choice(lots=("HOT", "NEW")), by=mara(store), reason="first two")
    note = store.investigate(
        KEY, "HELD", signals=["beyond limits"], cause="new mill", action="told", by=ines(store)
    )
    store.close_investigation(note, conclusion="mill adjusted", by=mara(store))
    store.attach("HOT", name="letter.txt", content=b"a letter", note="by post", by=ines(store))
    store.draw("MILD", count=3, seed=7, convention="square root", by=ines(store))
    void = store.results("HELD")["result"].iloc[0]
    store.invalidate(void, cause="opened strip", by=ines(store), second=mara(store))


def _blends(store: Store) -> None:
    blends = store.blends
    blends.introduce(country="Middle Vale", by=mara(store))
    blends.count("MILD", bags=38, bag_kg=25.0, opened_kg=5.0, by=ines(store), reason="stock-take")
    blend = blends.save(DRAFT, by=ines(store))
    blends.approve(blend, by=mara(store), second=ines(store))
    blends.issue(blend, by=mara(store))
    blends.make(blend, lot="BLEND-1", weighed={"HOT": 108.5, "MILD": 390.0}, by=ines(store))
    given_up = blends.save(replace(DRAFT, name="another"), by=ines(store))
    blends.cancel(given_up, reason="no need", by=ines(store))


def _people(store: Store) -> None:
    people = store.people
    people.sign_in("ines", secret=secret_of("ines"))
    until = datetime(2027, 3, 1)  # noqa: DTZ001 - the store keeps UTC without zone
    people.issue_token(
        Grant(sender="Bench 2", scope=("look",), until=until), by=mara(store), reason="new"
    )
    people.set_rule(CUT_OVER, "2026-03-01", by=mara(store), reason="first day")
    signing = SigningDesk(store._connection, business={ASK.deed: Concession()})
    signed, declined = (
        signing.ask(replace(ASK, reason=one), by=ines(store)).request
        for one in ("for sauce", "for paste")
    )
    signing.sign(signed, by=ines(store))
    signing.decline(declined, by=mara(store), reason="not this one")
    with contextlib.suppress(SignInRefused):
        people.sign_in("ines", secret="another lamp under seven rivers")  # noqa: S106
