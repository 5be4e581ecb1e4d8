"""Names that mean something to a browser, a terminal, a spreadsheet or the typesetter are names.

One store whose lots, suppliers, materials, samples, operators, profiles and files have such names
is shown in every room, read by every command, and printed on every paper.
"""

import ast
import json
import re
import shutil
import subprocess
from pathlib import Path

import openpyxl  # type: ignore[import-untyped]
import pytest

import dashboard
from dashboard.blends.sections import SECTIONS as BLENDS
from dashboard.command.lotheat import app as commands
from dashboard.frame import session
from dashboard.frame.exports import csv_bytes
from dashboard.methods.sections import SECTIONS as METHODS
from spc.errors import IntakeError
from spc.store import Store
from spc.store.blends.drafts import Draft, Portion, Predicted
from tests.approved import in_force
from tests.conftest import SMALL_CATALOGUE, SMALL_PROFILES
from tests.dashboard.page import Page
from tests.dashboard.screen import ME as WHO
from tests.dashboard.screen import SCREENS, opened
from tests.dashboard.typed import lotheat
from tests.staff import ME

ROOMS = Path(dashboard.__file__).parent
EVIL = "[x](http://e.example) $x^2$ [/b] <script>a(1)</script> :red[z]"
MATERIAL = f"#set page {EVIL}"
SUPPLIERS = (f"@sum {EVIL}", f"=cmd() {EVIL}", f"-2 שלום {EVIL}")
LOTS = tuple(f"=L{number} & {EVIL}" for number in range(1, 10))
PROFILE = f"+sensor {EVIL}"
FILE = f"\x1b[31m\u202e\u200f=cmd() {EVIL.replace('/', '')}.csv"
# How such a name looks where it is obeyed, and not shown.
OBEYED = re.compile(r"(?<!\\)\[x\]?\(|(?<!\\)\$x|(?<!\\)<script|(?<!\\):red|[\x1b\u202e\u200f]")
SENTENCES = (
    *("markdown", "caption", "info", "error", "warning", "success"),
    *("title", "header", "subheader", "expander"),
)
# Commands that read a store, as they are typed; `report` is every paper.
READING: dict[str, tuple[tuple[object, ...], ...]] = {
    "review": ((), ("--json",), (LOTS[0],)),
    "sweep": ((), ("--json",)),
    "compare": ((MATERIAL,), (MATERIAL, "--json")),
    "blend": (
        ("--material", MATERIAL, "--batch-kg", 100, "--heat", 41000, "--within", "20%"),
        ("--material", MATERIAL, "--batch-kg", 10, "--heat", 900000, "--within", "5%"),
    ),
    "verify": ((), ("--json",)),
    "runs": ((), ("--json",)),
    "propose": (("FILE",),),
    "receive": (("FILE",),),
    "specifications": (("list",), ("list", "--json")),
    "people": (("list",), ("list", "--json")),
    "report": (
        ("lot", LOTS[0], "--out", "lot.pdf"),
        ("supplier", SUPPLIERS[0], "--out", "card.pdf"),
        ("supplier", SUPPLIERS[0], "--out", "card.xlsx"),
        ("blend", "BLEND", "--out", "blend.pdf"),
    ),
}
# They print no name of the store's: a path, a link, a count.
NAMELESS = {"demo", "serve", "count", "query", "backup", "restore", "link"}


def fill(path: Path) -> None:
    catalogue = SMALL_CATALOGUE.replace("cayenne powder", MATERIAL)
    catalogue = catalogue.replace("North Mill", SUPPLIERS[0]).replace("South Mill", SUPPLIERS[1])
    catalogue += f"[[supplier]]\nsupplier = {json.dumps(SUPPLIERS[2], ensure_ascii=False)}\n"
    profiles = {**SMALL_PROFILES}
    profiles["sensor.toml"] = (
        profiles["sensor.toml"]
        .replace('profile = "sensor"', f'profile = "{PROFILE}"')
        .replace('measured_at = "Measured"', 'measured_at = "Measured"\noperator = "Who"')
    )
    profiles["register.toml"] = profiles["register.toml"].replace(
        'currency = "EUR"', 'supplier_lot = "Theirs"\nprice_per_kg = "Price"\ncurrency = "EUR"'
    )
    register = [
        "Our lot,Material,Supplier,Theirs,Received,Crop,Bags,Bag kg,Price,Declared SHU,Certified"
    ]
    moisture = ["Feuchtewaage 2", "Charge;Probe;Datum;Uhrzeit;Feuchte %"]
    laboratory = ["Your lot,Analysed,Capsaicin,Dihydrocapsaicin,Aflatoxin B1,Salmonella"]
    sensor = ["Lot,Bag,No,Measured,Portion g,Buffer mL,Cell,Reading,Unit,Who"]
    for place, lot in enumerate(LOTS):
        day = f"2026-03-{place + 2:02d}"
        supplier = SUPPLIERS[place % 3]
        register.append(
            f"{lot},{MATERIAL},{supplier},+S{place} {EVIL},{day},2025,40,25,3.5,"
            f"{41000 + 300 * place},2026-02-20"
        )
        moisture += [f"{lot};1;{place + 2:02d}.03.2026;10:00;9,1"]
        laboratory.append(f"{lot},{day},1600,950,0.8,not detected")
        sensor += [
            f"{lot},=1+{bag} {EVIL},1,{day} 10:00:00,0.5,10,100,{4.1 + 0.03 * place + 0.07 * bag},"
            f"µmol/L,@who {EVIL}"
            for bag in range(3)
        ]
    # Rows that wait for a person: a lot that nobody announced, a number that is none.
    sensor.append(f"=X {EVIL},=1 {EVIL},1,2026-03-09 10:00:00,0.5,10,100,=cmd() {EVIL},µmol/L,me")
    sensor.append(f"\x1b[31m{LOTS[0]},1,1,2026-03-09 10:00:00,0.5,10,100,12.5,µmol/L,me")
    with Store.open(path) as store:
        for name, text in {"catalogue.toml": catalogue, **profiles}.items():
            store.receive_bytes(name, text.encode(), by=ME)
        in_force(store)
        store.receive_bytes(f"register {FILE}", "\n".join(register).encode(), by=ME)
        store.receive_bytes(f"laboratory {FILE}", "\n".join(laboratory).encode(), by=ME)
        store.receive_bytes(f"moisture {FILE}", "\n".join(moisture).encode(), by=ME)
        store.receive_bytes(FILE, "\n".join(sensor).encode(), by=ME)
        for lot in LOTS[:3]:
            store.dispose(lot, "accepted", by=ME, reason=f"conforms {EVIL}")
        with pytest.raises(IntakeError):
            store.receive_bytes(f"refused {FILE}", b"", by=ME)


@pytest.fixture(scope="module")
def hostile_file(once_a_run):
    return once_a_run("hostile", fill)


@pytest.fixture(scope="module")
def hostile(hostile_file, tmp_path_factory):
    copy = tmp_path_factory.mktemp("hostile") / "lots.db"
    with Store.open(shutil.copy(hostile_file, copy)) as store:
        session.hold(store)
        yield store


def said(app):
    """Everything that a room hands to the browser as Markdown: its sentences and its labels."""
    shown = ("title", "subheader", "markdown", "caption", "info", "error", "success", "warning")
    texts = [one.value for kind in shown for one in app.get(kind)]
    texts += [one.label for one in app.get("expander")]
    fields = ("selectbox", "multiselect", "text_input", "button", "radio", "checkbox")
    texts += [one.label for kind in fields for one in app.get(kind)]
    return [*texts, *(option for one in app.get("radio") for option in one.options)]


def blocks(app):
    return [one.proto.body for one in app.get("html") if "<style" not in one.proto.body]


def rooms():
    yield from ((room, {}) for room in SCREENS if room not in ("blends", "methods", "lot"))
    yield "lot", {"lot": LOTS[0]}
    yield from (("blends", {"section": one}) for one in BLENDS)
    yield from (("methods", {"section": one}) for one in METHODS)


@pytest.mark.usefixtures("hostile")
@pytest.mark.parametrize(("room", "query"), list(rooms()))
def test_a_room_shows_such_names_and_obeys_none(room, query):
    app = opened(room, who=WHO, **query)

    assert not app.exception
    for text in said(app):
        assert not OBEYED.search(text), text
    for block in blocks(app):
        assert "script" not in Page(block).tags
        assert not re.search("[\x1b\u202e\u200f]", block)
    for one in app.dataframe:
        for line in csv_bytes(one.value).decode("utf-8-sig").splitlines():
            assert not re.match('"?[=+@\\-]', line)


def is_safe(node):
    """Whether what a screen shows is our own words, or went through the one place."""
    if isinstance(node, ast.Call):
        return getattr(node.func, "id", "") in ("plain", "marked", "join")
    if isinstance(node, ast.IfExp):
        return is_safe(node.body) and is_safe(node.orelse)
    name = getattr(node, "id", getattr(node, "attr", ""))
    return isinstance(node, ast.Constant) or name.isupper()


def test_every_sentence_of_a_screen_is_escaped_in_the_one_place():
    calls = [
        (path.name, one)
        for path in ROOMS.rglob("*.py")
        for one in ast.walk(ast.parse(path.read_text()))
        if isinstance(one, ast.Call)
        and isinstance(one.func, ast.Attribute)
        and getattr(one.func.value, "id", "") == "st"
        and one.func.attr in SENTENCES
        and one.args
    ]

    assert [(name, one.lineno) for name, one in calls if not is_safe(one.args[0])] == []


@pytest.fixture
def asked(hostile_file, tmp_path, monkeypatch):
    """A command on the store, with the file of readings at hand; what it prints."""
    monkeypatch.chdir(tmp_path)
    shutil.copy(hostile_file, "lots.db")
    return lambda *words: lotheat(*words, "--store", "lots.db")


def test_every_command_is_tried_or_prints_no_name():
    every = {
        one.name or getattr(one.callback, "__name__", "") for one in commands.registered_commands
    }
    every |= {str(group.name) for group in commands.registered_groups}

    assert every == set(READING) | NAMELESS


@pytest.mark.parametrize("verb", sorted(set(READING) - {"report"}))
def test_a_command_prints_such_names_and_obeys_none(asked, verb):
    shutil.copy("lots.db", "other.db")
    Path(FILE).write_text(f"Lot,{EVIL}\n{LOTS[0]},12.5\n")

    for words in READING[verb]:
        done = asked(verb, *(FILE if word == "FILE" else word for word in words))

        assert done.returncode in (0, 3), done.stderr
        assert not re.search("[\x1b\u202e\u200f]", done.stdout + done.stderr)
        assert not re.search(r"\[x\]\(http://e\.example\) \$x\^2\$ +<script", done.stdout)


def test_papers_and_workbooks_hold_such_names_as_texts(asked):
    blend = issued(Path("lots.db"))
    assert {path.parent.name for path in ROOMS.glob("*/paper.typ")} == {
        "lots",
        "suppliers",
        "blends",
    }
    for kind, name, _, out in READING["report"]:
        done = asked("report", kind, blend if name == "BLEND" else name, "--out", out)

        assert done.returncode == 0, done.stderr
    book = openpyxl.load_workbook("card.xlsx")
    cells = [cell for sheet in book for row in sheet.rows for cell in row]
    assert not [cell.coordinate for cell in cells if cell.data_type == "f"]
    assert any(EVIL in str(cell.value) for cell in cells)
    if shutil.which("pdftotext"):
        for paper in ("lot.pdf", "card.pdf", "blend.pdf"):
            told = subprocess.run(["pdftotext", paper, "-"], capture_output=True, check=True)
            assert "<script>a(1)</script>" in re.sub(r"\s", "", told.stdout.decode())


def issued(path):
    """A blend of two such lots, issued; its number."""
    with Store.open(path) as store:
        store.blends.introduce(country="Middle Vale", by=ME)
        for lot in LOTS[:2]:
            store.blends.count(lot, bags=40, bag_kg=25.0, opened_kg=0.0, by=ME, reason="counted")
        draft = Draft(
            name=f"=cmd() {EVIL}",
            material=MATERIAL,
            batch_kg=100.0,
            portions=tuple(Portion(lot=lot, kg=50.0) for lot in LOTS[:2]),
            predicted=(
                Predicted(characteristic="heat", basis="as-is", mean=41e3, standard_deviation=2e3),
            ),
            target={},
        )
        blend = store.blends.save(draft, by=ME)
        store.blends.approve(blend, by=ME)
        store.blends.issue(blend, by=ME)
    return blend
