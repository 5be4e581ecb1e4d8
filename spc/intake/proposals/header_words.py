"""What a column seems to be by its name, in English, German, French and Spanish."""

import difflib
import re
import unicodedata
from collections.abc import Iterable, Mapping, Sequence
from types import MappingProxyType
from typing import Final

from spc import units

# Names that laboratories and goods-in give their columns; common practice, no source.
MEANINGS: Final[Mapping[str, tuple[str, ...]]] = MappingProxyType(
    {
        "lot": (
            "lot", "lot no", "lot number", "our lot", "your lot", "charge", "chargennummer",
            "partie", "los", "lote", "numero de lot", "numero de lote", "partida",
        ),
        "sample": (
            "sample", "bag", "sack", "probe", "muster", "gebinde", "sac", "echantillon",
            "muestra", "saco",
        ),
        "replicate": (
            "replicate", "reading no", "repeat", "wiederholung", "messung nr", "replikat",
            "repetition", "repeticion", "replica",
        ),
        "measured_at": (
            "measured", "date", "date measured", "analysed", "measured at", "datum", "gemessen",
            "messdatum", "date de mesure", "mesure le", "fecha", "fecha de medida", "timestamp",
        ),
        "time of day": ("time", "uhrzeit", "zeit", "heure", "hora"),
        "operator": (
            "operator", "analyst", "bediener", "pruefer", "operateur", "analyste", "operador",
            "analista",
        ),
        "instrument": (
            "instrument", "device", "reader", "geraet", "appareil", "instrumento", "equipo",
        ),
        "sensor_batch": (
            "sensor batch", "strip batch", "streifencharge", "sensorcharge", "lot de bandelettes",
            "lote de tiras",
        ),
        "extract_mass_g": (
            "portion", "sample mass", "mass", "einwaage", "probenmasse", "prise d essai", "masse",
            "pesada", "masa",
        ),
        "extract_volume_mL": (
            "buffer", "volume", "extract volume", "puffer", "volumen", "tampon", "disolvente",
        ),
        "cell_dilution": (
            "cell dilution", "dilution", "dilution factor", "verduennung", "facteur de dilution",
            "dilucion", "factor de dilucion",
        ),
        "material": ("material", "product", "ware", "produkt", "produit", "matiere", "producto"),
        "supplier": ("supplier", "lieferant", "fournisseur", "proveedor"),
        "supplier_lot": ("supplier lot", "lieferantencharge", "lot fournisseur", "lote proveedor"),
        "received_at": (
            "received", "received on", "wareneingang", "eingang", "recu le", "reception",
            "recibido", "recepcion",
        ),
        "harvest_year": (
            "crop", "crop year", "harvest", "ernte", "erntejahr", "recolte", "cosecha",
        ),
        "packages": ("bags", "packages", "saecke", "gebindezahl", "sacs", "sacos", "bultos"),
        "package_kg": (
            "bag kg", "package kg", "kg per bag", "sackgewicht", "kg par sac", "kg saco",
        ),
        "unit": ("unit", "units", "einheit", "unite", "unidad"),
    }
)  # fmt: skip

# Further names of what is measured, by the catalogue's word for it.
CHARACTERISTICS: Final[Mapping[str, tuple[str, ...]]] = MappingProxyType(
    {
        "heat": (
            "heat", "pungency", "schaerfe", "piquant", "force", "picor", "picante", "capsaicinoids",
        ),
        "moisture": ("moisture", "water", "feuchte", "wassergehalt", "humidite", "humedad"),
        "colour": ("colour", "color", "farbe", "couleur"),
        "Salmonella": ("salmonella", "salmonellen", "salmonelles"),
        "aflatoxin B1": ("aflatoxin b1", "afb1", "aflatoxine b1", "aflatoxina b1"),
        "ochratoxin A": ("ochratoxin a", "ota", "ochratoxine a", "ocratoxina a"),
    }
)  # fmt: skip

# Properties that no characteristic above is, though a word of theirs names one: water activity says
# how free the water is, and not how much there is.
OTHERS: Final = (
    "water activity", "aw", "a w", "aw value", "wasseraktivitaet", "aw wert", "activite de l eau",
    "actividad de agua", "actividad del agua", "actividad acuosa", "water temperature",
    "water absorption", "water insoluble", "water soluble",
)  # fmt: skip

# Names of columns of readings, of what a row reports, and of how it was measured.
READINGS: Final = (
    "reading", "result", "value", "messwert", "ergebnis", "wert", "lecture", "resultat", "valeur",
    "lectura", "resultado", "valor",
)  # fmt: skip
NAMING_COLUMNS: Final = (
    "parameter", "test", "test name", "analysis", "analyte", "characteristic", "determination",
    "property", "measurand", "pruefmerkmal", "merkmal", "analyse", "analyt", "messgroesse",
    "pruefung", "kenngroesse", "parametre", "essai", "caracteristique", "determinante",
    "parametro", "ensayo", "analisis", "analito", "caracteristica", "determinacion",
)  # fmt: skip
METHOD_COLUMNS: Final = (
    "method", "test method", "procedure", "technique", "methode", "verfahren", "pruefverfahren",
    "pruefmethode", "methode d essai", "metodo", "metodo de ensayo", "tecnica", "procedimiento",
)  # fmt: skip

# Further names of methods, by the catalogue's word for them.
METHODS: Final[Mapping[str, tuple[str, ...]]] = MappingProxyType(
    {
        "liquid chromatography": (
            "hplc", "uhplc", "lc", "lc ms", "lc ms ms", "chromatography",
            "fluessigchromatographie", "chromatographie", "chromatographie liquide",
            "cromatografia", "cromatografia liquida",
        ),
        "rapid sensor": ("sensor", "strip", "rapid", "schnelltest", "capteur", "tira"),
        "moisture balance": (
            "balance", "moisture analyser", "moisture analyzer", "feuchtewaage",
            "feuchtebestimmer", "dessiccateur", "balanza", "termobalanza",
        ),
        "colorimetry": (
            "colorimetry", "spectrophotometry", "photometry", "photometrie", "colorimetrie",
            "spectrophotometrie", "colorimetria", "espectrofotometria",
        ),
        "culture": ("culture", "enrichment", "kultur", "anreicherung", "cultivo", "plate"),
        "supplier certificate": ("certificate", "zertifikat", "certificat", "certificado"),
    }
)  # fmt: skip

# Likeness below which a name is taken for another word.
_ALIKE: Final = 0.86
_BRACKETED: Final = re.compile(r"[\[(]([^\])]*)[\])]")
_NUMBER: Final = re.compile("[a-z]?[0-9]+")
_UMLAUTS: Final = str.maketrans({"ä": "ae", "ö": "oe", "ü": "ue", "ß": "ss"})
# Units of what is weighed and poured: they say what a column is, and no result has them.
_MORE_UNITS: Final = frozenset(("g", "ml", "mg", "kg", "l", "utc"))


def plain(text: str) -> str:
    """A header in small letters without accents, signs and units."""
    bare = _BRACKETED.sub(" ", text).casefold().translate(_UMLAUTS)
    bare = unicodedata.normalize("NFKD", bare)
    bare = "".join(sign for sign in bare if not unicodedata.combining(sign))
    words = re.sub(r"[^0-9a-z]+", " ", bare).split()
    while len(words) > 1 and words[-1] in _MORE_UNITS:
        words.pop()
    return " ".join(words)


def likeness(header: str, names: Iterable[str]) -> float:
    """How much a header is like the nearest of some names: 1 for one of them, 0 for none."""
    mine = plain(header)
    return max((_alike(mine, name) for name in names), default=0.0)


def unit_in(header: str) -> str:
    """The unit that a header ends with or has in brackets; empty if it has none that is known."""
    words = header.replace("[", " ").replace("]", " ").replace("(", " ").replace(")", " ").split()
    tails = [" ".join(words[-size:]) for size in (3, 2, 1) if len(words) >= size]
    return _known([*_BRACKETED.findall(header), *tails])


def _known(texts: Sequence[str]) -> str:
    spelled = [units.spelled(text.strip()) for text in texts]
    return next((unit for unit in spelled if unit in units.KNOWN), "")


def _alike(header: str, name: str) -> float:
    if header == name:
        return 1.0
    if f" {name} " in f" {header} ":
        return 0.9 + 0.09 * len(name) / len(header)
    if _numbered(header) != _numbered(name):
        return 0.0
    ratio = difflib.SequenceMatcher(a=header, b=name).ratio()
    return 0.9 * ratio if ratio >= _ALIKE else 0.0


def _numbered(text: str) -> tuple[list[str], str]:
    """What tells names apart that are else alike, such as aflatoxins B1 and G1, toxins A and B."""
    return _NUMBER.findall(text.replace(" ", "")), text[-1] if text[-2:-1] == " " else ""
