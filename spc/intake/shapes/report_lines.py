"""Rows that belong to a report and not to its table: headers said again, totals, last lines."""

from collections.abc import Iterator
from functools import reduce
from operator import and_
from typing import Final

import pandas as pd

from spc.intake.checks.holds import Holds
from spc.intake.distinct import coded, of_each
from spc.intake.profiles.profile import SourceProfile
from spc.intake.proposals.header_words import plain
from spc.intake.table.columns import Known, joined

# What such lines are called, without accents and signs, in English, German, French, Spanish,
# Italian, Portuguese and Dutch; common practice, no source.
_LINES: Final = frozenset(
    (
        *("total", "totals", "grand total", "subtotal", "sub total", "sum", "count", "number"),
        *("summe", "zwischensumme", "gesamt", "gesamtsumme", "anzahl", "somme", "nombre", "suma"),
        *("somma", "totale", "soma", "totaal", "aantal", "total general", "total geral"),
        *("mean", "average", "avg", "ave", "mean value", "overall mean", "grand mean", "x bar"),
        *("mittelwert", "mittel", "mw", "durchschnitt", "moyenne", "moy", "media", "promedio"),
        *("prom", "medio", "valor medio", "valore medio", "gemiddelde", "gem"),
        *("median", "mediana", "mediane", "mediaan"),
        *("sd", "stdev", "std dev", "std deviation", "standard deviation", "st dev", "sdev"),
        *("stddev", "stabw", "stdabw", "standardabweichung", "std abw", "streuung", "ecart type"),
        *("desviacion estandar", "desviacion tipica", "desv est", "desvest", "desv estandar"),
        *("deviazione standard", "dev std", "desvio padrao", "standaardafwijking"),
        *("rsd", "srel", "s rel", "cv", "cov", "vk", "coefficient of variation", "rel sd"),
        *("variationskoeffizient", "coefficient de variation", "coeficiente de variacion"),
        *("coefficiente di variazione", "relative standard deviation", "variance", "varianz"),
        *("max", "maximum", "maximal", "maxi", "maximo", "massimo", "hochstwert", "hoechstwert"),
        *("min", "minimum", "minimal", "mini", "minimo", "kleinstwert", "range", "spannweite"),
        *("etendue", "rango", "sem", "std error", "standard error", "uncertainty", "unsicherheit"),
        *("limit", "limits", "grenzwert", "limite", "spec", "specification", "spezifikation"),
        *("sollwert", "target", "loq", "lod", "blank", "blindwert", "blanc", "blanco", "bianco"),
        *("end", "end of report", "end of file", "end of data", "end of list", "ende"),
        *("berichtsende", "ende des berichts", "fin", "fin du rapport", "fin del informe"),
    )
)
# What may follow such a word: of how many, of which, in what.
_AFTER: Final = r"(?: (?:of|n|aus|de|von|bis|to|y|und|et|and|[0-9]+|values|samples|rows|werte))*$"
_REMEDY: Final = "Dismiss it; correct the cell on Intake if a lot is meant."
# Columns beside the lot's that say whose a reading is.
_NAMING: Final = ("sample", "replicate", "operator", "instrument")
# A column that says what kind of row each is has few words.
_MOST_WORDS: Final = 100


def hold_furniture(
    table: pd.DataFrame, lot: pd.Series, profile: SourceProfile, known: Known, holds: Holds
) -> None:
    """Hold the rows in which no lot is meant.

    Parameters
    ----------
    table
        Every column of the file.
    lot
        What each row names as its lot.
    """
    name = " ".join(profile.columns["lot"])
    holds.add(
        _repeats(table, (lot == name).astype(bool), profile),
        "repeated-header",
        reason="The row repeats the header.",
        remedy="Dismiss it; nothing was measured.",
    )
    holds.add(
        of_each(lot, _are_lines) & ~lot.isin(list(known.lots)),
        "line-of-report",
        about=lot,
        reason=lambda text: f"{text!r} is a line of the report, and no lot.",
        remedy=_REMEDY,
    )
    for header, texts in _that_name(table, profile):
        holds.add(
            of_each(texts, _are_lines),
            "line-of-report",
            about=texts,
            reason=lambda text, header=header: (
                f"{header} says {text!r}: that is a line of the report, and no sample."
            ),
            remedy=_REMEDY,
        )


def _that_name(table: pd.DataFrame, profile: SourceProfile) -> Iterator[tuple[str, pd.Series]]:
    """Columns that may say what kind of row each is: those that name, and those not read."""
    for meaning in _NAMING:
        if meaning in profile.columns:
            yield " ".join(profile.columns[meaning]), joined(table, profile.columns[meaning])
    for header in table.columns:
        if header not in profile.headers and not str(header).startswith("\0"):
            texts = coded(table[header])
            few = isinstance(texts.dtype, pd.CategoricalDtype) and _has_few(texts)
            if few or len(texts) <= _MOST_WORDS:
                # What nearly every row says is no line of a report.
                lines = of_each(texts, _are_lines)
                if 2 * lines.sum() < len(texts):
                    yield str(header), texts


def _has_few(texts: pd.Series) -> bool:
    return len(texts.cat.categories) <= _MOST_WORDS


def _repeats(cells: pd.DataFrame, likely: pd.Series, profile: SourceProfile) -> pd.Series:
    if not likely.any():
        return likely
    return reduce(and_, (cells[header] == header for header in profile.headers), likely)


def _are_lines(texts: pd.Series) -> pd.Series:
    """Whether each text is the name of such a line, whatever signs stand around it."""
    likely = texts.str.contains(r"^\W*[^\W\d_](?:[^\W\d_]|[ .])")
    if not likely.any():
        return likely.astype(bool)
    bare = texts[likely].map(plain).str.replace(_AFTER, "", regex=True)
    return likely & bare.isin(_LINES).reindex(texts.index, fill_value=False)
