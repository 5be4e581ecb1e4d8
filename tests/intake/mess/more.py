"""Short files of mess, each with what a person would read there, written down before it was run.

A case is a name, the source, the text, the results (row, lot, sample, value), and the rows that a
person would ask about.
"""

# ruff: noqa: E501 - a case is one line
from typing import Final, NamedTuple

CATALOGUE: Final = """
[[characteristic]]
characteristic = "water activity"
unit = "aw"
[[characteristic]]
characteristic = "acidity"
unit = "pH"
[[characteristic]]
characteristic = "plate count"
unit = "CFU/g"
scale = "log"
[[characteristic]]
characteristic = "particle size"
unit = "µm"

[[method]]
method = "bench"
characteristic = "water activity"
standing = "routine"
standard_uncertainty = 0.01
repeatability = 0.01
reading_unit = "aw"
[[method]]
method = "bench"
characteristic = "acidity"
standing = "routine"
standard_uncertainty = 0.01
repeatability = 0.01
reading_unit = "pH"
[[method]]
method = "plates"
characteristic = "plate count"
standing = "routine"
standard_uncertainty = 0.3
repeatability = 0.3
reading_unit = "CFU/g"
quantification_limit = 10.0
range_upper = 3e8
[[method]]
method = "sieve"
characteristic = "particle size"
standing = "routine"
standard_uncertainty = 0.1
repeatability = 0.1
reading_unit = "µm"
"""

_MEASURE: Final = """
[[measure]]
characteristic = "{characteristic}"
method = "{method}"
reading = "{reading}"
unit = "{unit}"
"""


def _profile(name: str, form: str, columns: str, *measures: tuple[str, str, str, str]) -> str:
    read = "".join(
        _MEASURE.format(characteristic=c, method=m, reading=r, unit=u) for c, m, r, u in measures
    )
    return f'profile = "{name}"\n[file]\n{form}\n[columns]\n{columns}\n{read}'


_WATER, _BALANCE = "moisture", "moisture balance"
PROFILES: Final = {
    "dry": _profile(
        "dry", 'date_format = "%Y-%m-%d"',
        'lot = "Batch ref"\nsample = "Bag"\nmeasured_at = "Day"',
        (_WATER, _BALANCE, "H2O", "%"),
    ),
    "trocken": _profile(
        "trocken", 'delimiter = ";"\ndecimal = ","\nthousands = "."\ndate_format = "%d.%m.%Y"',
        'lot = "Partie-Nr."\nsample = "Sack-Nr."\nmeasured_at = "Tag"',
        (_WATER, _BALANCE, "Restfeuchte", "g/100 g"),
    ),
    "states": _profile(
        "states", 'date_format = "%m/%d/%Y"\nthousands = ","',
        'lot = "Lot ID"\nsample = "Pail"\nmeasured_at = "Date run"',
        (_WATER, _BALANCE, "Loss on drying", "%"),
    ),
    "plates": _profile(
        "plates", 'missing = ["", "n/t"]\nbelow_limit = ["n.d."]\nabove_range = ["TNTC"]',
        'lot = "Sample lot"\nsample = "Jar"',
        ("plate count", "plates", "TPC", "CFU/g"),
    ),
    "bench": _profile(
        "bench", "", 'lot = "Item"\nsample = "Cup"',
        ("water activity", "bench", "aw @25", "aw"),
        ("acidity", "bench", "pH value", "pH"),
        ("particle size", "sieve", "D50", "µm"),
    ),
    "pair": _profile(
        "pair", 'date_format = "%Y-%m-%d"', 'lot = "Ref"\nmeasured_at = "Date tested"',
        (_WATER, _BALANCE, "Dish A", "%"), (_WATER, _BALANCE, "Dish B", "%"),
    ),
    "toxin": _profile(
        "toxin", 'missing = ["", "-"]', 'lot = "Client ref"\nsample = "Sub"',
        ("aflatoxin B1", "liquid chromatography", "Afla B1", "µg/kg"),
    ),
}  # fmt: skip


class Case(NamedTuple):
    """One file, and what a person reads in it."""

    name: str
    source: str
    text: str
    results: tuple[str, ...]
    asked: tuple[int, ...] = ()


DRY, TR, US = "Batch ref,Bag,Day,H2O\n", "Partie-Nr.;Sack-Nr.;Tag;Restfeuchte\n", ""
US = "Lot ID,Pail,Date run,Loss on drying\n"
PL, BE, PA, TX = (
    "Sample lot,Jar,TPC\n",
    "Item,Cup,aw @25,pH value,D50\n",
    "Ref,Date tested,Dish A,Dish B\n",
    "Client ref,Sub,Afla B1\n",
)

CASES: Final = (
    # What stands around a number.
    Case("per cent in the cell", "dry", DRY + "L-1,1,2026-03-04,9.81%\n", ("2 L-1 1 9.81",)),
    Case("per cent after a blank", "dry", DRY + "L-1,1,2026-03-04,9.81 %\n", ("2 L-1 1 9.81",)),
    Case("another unit in the cell", "dry", DRY + "L-1,1,2026-03-04,98.1 g/kg\n", (), (2,)),
    Case("unit of the other kind", "dry", DRY + "L-1,1,2026-03-04,9.8 pH\n", (), (2,)),
    Case("spread with its sign", "dry", DRY + "L-1,1,2026-03-04,9.8 ± 0.2\n", ("2 L-1 1 9.8",)),
    Case("spread typed", "dry", DRY + "L-1,1,2026-03-04,9.8 +/- 0.2 %\n", ("2 L-1 1 9.8",)),
    Case("in brackets", "dry", DRY + "L-1,1,2026-03-04,(9.8)\n", (), (2,)),
    Case("about", "dry", DRY + "L-1,1,2026-03-04,ca. 9.8\n", (), (2,)),
    Case("a note sign", "dry", DRY + "L-1,1,2026-03-04,9.8 a)\n", (), (2,)),
    Case("two numbers", "dry", DRY + "L-1,1,2026-03-04,9.8/9.9\n", (), (2,)),
    Case("a range", "dry", DRY + "L-1,1,2026-03-04,9.8-9.9\n", (), (2,)),
    Case("a dash", "dry", DRY + "L-1,1,2026-03-04,—\nL-1,2,2026-03-04,9\n", ("3 L-1 2 9",), (2,)),
    Case("a comma in a file of points", "dry", DRY + 'L-1,1,2026-03-04,"9,8"\n', (), (2,)),
    Case("an apostrophe before", "dry", DRY + "L-1,1,2026-03-04,'9.8\n", (), (2,)),
    Case("an equals sign before", "dry", DRY + "L-1,1,2026-03-04,=9.8\n", (), (2,)),
    Case("full-width digits", "dry", DRY + "L-1,1,2026-03-04,\uff19.\uff18\n", ("2 L-1 1 9.8",)),
    Case("letter O for nought", "dry", DRY + "L-1,1,2026-03-04,1O.2\n", (), (2,)),
    Case("letter l for one", "dry", DRY + "L-1,1,2026-03-04,l0.2\n", (), (2,)),
    Case("no nought before", "dry", DRY + "L-1,1,2026-03-04,.98\n", (), (2,)),
    Case("nothing after the point", "dry", DRY + "L-1,1,2026-03-04,9.\n", (), (2,)),
    Case("an hour", "dry", DRY + "L-1,1,2026-03-04,9:48\n", (), (2,)),
    Case("an error of a sheet", "dry", DRY + "L-1,1,2026-03-04,#DIV/0!\n", (), (2,)),
    Case("a logical word", "dry", DRY + "L-1,1,2026-03-04,TRUE\n", (), (2,)),
    Case("too much water", "dry", DRY + "L-1,1,2026-03-04,109.8\n", (), (2,)),
    Case("negative water", "dry", DRY + "L-1,1,2026-03-04,-0.2\n", (), (2,)),
    Case("all water", "dry", DRY + "L-1,1,2026-03-04,100\n", ("2 L-1 1 100",)),
    # Signs of a source with commas.
    Case("points for thousands", "trocken", TR + "L-1;1;04.03.2026;9.812\n", (), (2,)),
    Case("a plain comma", "trocken", TR + "L-1;1;04.03.2026;9,81\n", ("2 L-1 1 9.81",)),
    Case("comma and per cent", "trocken", TR + "L-1;1;04.03.2026;9,81 %\n", ("2 L-1 1 9.81",)),
    Case("a lost comma", "trocken", TR + "L-1;1;04.03.2026;981\n", (), (2,)),
    Case("both signs", "trocken", TR + "L-1;1;04.03.2026;1.009,81\n", (), (2,)),
    Case("a mean below", "trocken", TR + "L-1;1;04.03.2026;9,8\n;Mittelwert;;9,8\n",
         ("2 L-1 1 9.8",), (3,)),
    Case("a spread below", "trocken", TR + "L-1;1;04.03.2026;9,8\nL-1;s rel. (%);;1,1\n",
         ("2 L-1 1 9.8",), (3,)),
    Case("a maximum below", "trocken", TR + "L-1;1;04.03.2026;9,8\nL-1;Max.;04.03.2026;9,8\n",
         ("2 L-1 1 9.8",), (3,)),
    Case("a limit below", "trocken", TR + "L-1;1;04.03.2026;9,8\nL-1;Grenzwert;04.03.2026;11\n",
         ("2 L-1 1 9.8",), (3,)),
    Case("a day that is none", "trocken", TR + "L-1;1;31.02.2026;9,8\n", (), (2,)),
    Case("a day of two digits", "trocken", TR + "L-1;1;04.03.26;9,8\n", (), (2,)),
    Case("a day ahead", "trocken", TR + "L-1;1;04.03.2126;9,8\n", (), (2,)),
    Case("the header again", "trocken", TR + "L-1;1;04.03.2026;9,8\n" + TR + "L-2;1;04.03.2026;9\n",
         ("2 L-1 1 9.8", "4 L-2 1 9"), (3,)),
    Case("units below", "trocken", TR + ";;;%\nL-1;1;04.03.2026;9,8\n", ("3 L-1 1 9.8",)),
    Case("other units below", "trocken", TR + ";;;g/kg\nL-1;1;04.03.2026;98\n", (), (3,)),
    Case("another table below", "trocken",
         TR + "L-1;1;04.03.2026;9,8\n\nPartie-Nr.;Sack-Nr.;Tag;Asche\nL-1;1;04.03.2026;6,1\n",
         ("2 L-1 1 9.8",), (4, 5)),
    Case("a title and another table", "trocken",
         TR + "L-1;1;04.03.2026;9,8\n\nFarbwerte;;;\nPartie;Sack;Tag;ASTA\nL-1;1;04.03.2026;96\n",
         ("2 L-1 1 9.8",), (4, 5, 6)),
    # Days of the other order.
    Case("all days agree", "states", US + "L-1,1,03/13/2026,9.8\nL-1,2,03/14/2026,9.9\n",
         ("2 L-1 1 9.8", "3 L-1 2 9.9")),
    Case("a day of the other order", "states", US + "L-1,1,03/04/2026,9.8\nL-1,2,14/03/2026,9.9\n",
         (), (2, 3)),
    Case("a day that reads one way", "states", US + "L-1,1,04/04/2026,9.8\nL-1,2,14/03/2026,9\n",
         ("2 L-1 1 9.8",), (3,)),
    Case("a month ahead", "states", US + "L-1,1,12/04/2026,9.8\nL-1,2,03/05/2026,9.9\n",
         (), (2, 3)),
    Case("commas in thousands", "states", US + 'L-1,1,03/13/2026,"9,812"\n', (), (2,)),
    # Colonies.
    Case("a power of ten", "plates", PL + "L-1,1,4.1 × 10^4\n", ("2 L-1 1 41000",)),
    Case("a raised power", "plates", PL + "L-1,1,4.1x10⁴\n", ("2 L-1 1 41000",)),
    Case("a power that was flattened", "plates", PL + "L-1,1,4.1 x 104\n", (), (2,)),
    Case("an E", "plates", PL + "L-1,1,4.1E+04\n", ("2 L-1 1 41000",)),
    Case("below ten", "plates", PL + "L-1,1,<10\n", ("2 L-1 1 10",)),
    Case("below ten, with its unit", "plates", PL + "L-1,1,< 10 cfu/g\n", ("2 L-1 1 10",)),
    Case("not detected, as stated", "plates", PL + "L-1,1,n.d.\n", ("2 L-1 1 10",)),
    Case("not detected, not as stated", "plates", PL + "L-1,1,ND\n", (), (2,)),
    Case("too many to count", "plates", PL + "L-1,1,TNTC\n", ("2 L-1 1 inf",)),
    Case("not tested", "plates", PL + "L-1,1,n/t\nL-2,1,20\n", ("3 L-2 1 20",), (2,)),
    Case("none", "plates", PL + "L-1,1,0\n", ("2 L-1 1 10",)),
    Case("blanks in thousands", "plates", PL + "L-1,1,41\u202f000\nL-1,2,41 000\n",
         ("2 L-1 1 41000",), (3,)),
    Case("an estimate", "plates", PL + "L-1,1,est. 41000\n", (), (2,)),
    Case("a per-ml unit", "plates", PL + "L-1,1,4100 CFU/mL\n", (), (2,)),
    # What cannot be.
    Case("activity above one", "bench", BE + "L-1,1,1.04,,\n", (), (2,)),
    Case("activity in per cent", "bench", BE + "L-1,1,54,,\n", (), (2,)),
    Case("an acidity of 41", "bench", BE + "L-1,1,,41,\n", (), (2,)),
    Case("a size of nought", "bench", BE + "L-1,1,,,0\n", (), (2,)),
    Case("all three", "bench", BE + "L-1,1,0.54,4.1,312\n",
         ("2 L-1 1 0.54", "2 L-1 1 4.1", "2 L-1 1 312")),
    Case("acidity with its name", "bench", BE + "L-1,1,,pH 4.1,\n", (), (2,)),
    Case("one bad of three", "bench", BE + "L-1,1,0.54,4.1,large\n", (), (2,)),
    Case("sample 01 is 1", "bench", BE + "L-1,1,0.54,,\nL-1,01,0.54,,\n", ("2 L-1 1 0.54",)),
    Case("sample 1.0 is 1, and differs", "bench", BE + "L-1,1,0.54,,\nL-1,1.0,0.55,,\n",
         ("2 L-1 1 0.54",), (3,)),
    Case("a report line in no column that is read", "bench",
         "Row,Item,Cup,aw @25,pH value,D50\n1,L-1,1,0.5,,\n2,L-2,1,0.6,,\nMean,L-1,2,0.55,,\n",
         ("2 L-1 1 0.5", "3 L-2 1 0.6"), (4,)),
    Case("lots across", "bench", "Item,L-1,L-2\nCup,1,1\naw @25,0.5,0.6\npH value,4,4.1\nD50,300,310\n",
         ("2 L-1 1 0.5", "2 L-1 1 4", "2 L-1 1 300", "3 L-2 1 0.6", "3 L-2 1 4.1", "3 L-2 1 310")),
    Case("lots across with a mean", "bench",
         "Item,L-1,Mean\nCup,1,\naw @25,0.5,0.5\npH value,4,4\nD50,300,300\n",
         ("2 L-1 1 0.5", "2 L-1 1 4", "2 L-1 1 300"), (3,)),
    # Tests that are two.
    Case("two dishes alike", "pair", PA + "L-1,2026-03-04,9.8,9.8\n", ("2 L-1  9.8", "2 L-1  9.8")),
    Case("one dish", "pair", PA + "L-1,2026-03-04,9.8,\n", ("2 L-1  9.8",)),
    Case("a row said twice", "pair", PA + "L-1,2026-03-04,9.8,9.7\nL-1,2026-03-04,9.8,9.7\n",
         ("2 L-1  9.8", "2 L-1  9.7"), (3,)),
    Case("another day", "pair", PA + "L-1,2026-03-04,9.8,\nL-1,2026-03-05,9.8,\n",
         ("2 L-1  9.8", "3 L-1  9.8")),
    Case("one dish bad", "pair", PA + "L-1,2026-03-04,9.8,wet\n", (), (2,)),
    # Lots and samples.
    Case("a lot in other case", "dry", DRY + "l-1,1,2026-03-04,9.8\n", (), (2,)),
    Case("a lot with a blank", "dry", DRY + "L -1,1,2026-03-04,9.8\n", (), (2,)),
    Case("blanks around a lot", "dry", DRY + "  L-1 ,1,2026-03-04, 9.8 \n", ("2 L-1 1 9.8",)),
    Case("a lot that joins on", "dry", DRY + "L-1\u200b,1,2026-03-04,9.8\n", (), (2,)),
    Case("a remark as a lot", "dry", DRY + "x" * 130 + ",1,2026-03-04,9.8\n", (), (2,)),
    Case("a total below", "dry", DRY + "L-1,1,2026-03-04,9.8\nTotal,1,,9.8\n", ("2 L-1 1 9.8",), (3,)),
    Case("a signature below", "dry", DRY + "L-1,1,2026-03-04,9.8\nsigned J.T.,,,\n",
         ("2 L-1 1 9.8",), (3,)),
    Case("blank lines between", "dry", DRY + "\nL-1,1,2026-03-04,9.8\n\n\nL-2,1,2026-03-04,9\n",
         ("3 L-1 1 9.8", "6 L-2 1 9")),
    Case("a cell too many", "dry", DRY + "L-1,1,2026-03-04,9,8\n", (), (2,)),
    Case("a cell too few", "dry", DRY + "L-1,1,2026-03-04\n", (), (2,)),
    # Contaminants.
    Case("below, with a unit", "toxin", TX + "L-1,a,< 0.5 µg/kg\n", ("2 L-1 a 0.5",)),
    Case("ppb in the cell", "toxin", TX + "L-1,a,0.9 ppb\n", ("2 L-1 a 0.9",)),
    Case("mg/kg in the cell", "toxin", TX + "L-1,a,0.9 mg/kg\n", (), (2,)),
    Case("trace", "toxin", TX + "L-1,a,trace\n", (), (2,)),
    Case("below the limit in words", "toxin", TX + "L-1,a,<LOQ\n", ("2 L-1 a 0.5",)),
    Case("absent", "toxin", TX + "L-1,a,absent\n", (), (2,)),
    Case("less or equal", "toxin", TX + "L-1,a,≤0.5\n", ("2 L-1 a 0.5",)),
    Case("more than it can be", "toxin", TX + "L-1,a,2000000000\n", (), (2,)),
    Case("a limit in the sample's place", "toxin", TX + "L-1,a,0.9\nL-1,LOQ,0.5\n",
         ("2 L-1 a 0.9",), (3,)),
    Case("a blank sample", "toxin", TX + "L-1,Blank,0.9\n", (), (2,)),
    Case("wide then narrow", "toxin", TX + "L-1,a,0.9\n\nItem,aw @25\nL-1,0.5\n", ("2 L-1 a 0.9",), (4, 5)),
    Case("then another source's table", "toxin",
         "Client ref,Sub,Afla B1,,\nL-1,a,0.9,,\n\n" + BE + "L-1,1,0.5,4,300\n",
         ("2 L-1 a 0.9", "5 L-1 1 0.5", "5 L-1 1 4", "5 L-1 1 300")),
)  # fmt: skip
