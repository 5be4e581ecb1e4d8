"""Moments: by the form of date of the profile, or typed by the file; never guessed."""

import io
from datetime import UTC, date, datetime

import openpyxl  # type: ignore[import-untyped]
import pandas as pd
import pyarrow as pa
import pyarrow.parquet as pq
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from spc.intake.profiles.profile import FileForm
from spc.intake.readers import read
from spc.intake.table.moments import moments

PLAIN = FileForm()
BERLIN = FileForm(date_format="%d.%m.%Y %H:%M", time_zone="Europe/Berlin")
NOON = pd.Timestamp("2026-03-04 12:00")


def texts(*cells: str) -> pd.Series:
    return pd.Series(cells, dtype="str")


def test_local_time_is_kept_in_utc():
    found = moments(texts("15.01.2026 10:30", "15.07.2026 10:30"), BERLIN)

    assert found.tolist() == [pd.Timestamp("2026-01-15 09:30"), pd.Timestamp("2026-07-15 08:30")]


@pytest.mark.parametrize(
    "text",
    [
        pytest.param("29.03.2026 02:30", id="skipped in spring"),
        pytest.param("26.10.2025 02:30", id="comes twice in autumn"),
        pytest.param("30.02.2026 10:00", id="no such day"),
        pytest.param("2026-02-03 10:00", id="another form"),
    ],
)
def test_an_hour_that_cannot_be_told_is_not_guessed(text):
    assert moments(texts(text), BERLIN).isna().all()


@pytest.mark.parametrize("word", ["now", "today", "", "-"])
def test_a_word_is_no_moment(word):
    assert moments(texts(word, "2026-03-02 10:00:00"), PLAIN).isna().tolist() == [True, False]


def test_a_zone_in_the_text_is_heeded_where_the_profile_expects_it():
    form = FileForm(date_format="%Y-%m-%dT%H:%M:%S%z", time_zone="Europe/Berlin")

    found = moments(texts("2026-03-02T10:00:00+0200", "2026-03-02T10:00:00-05:00", "x 1"), form)

    assert found[0] == pd.Timestamp("2026-03-02 08:00")
    assert found[1] == pd.Timestamp("2026-03-02 15:00")
    assert pd.isna(found[2])


def test_a_workbook_s_text_with_a_zone_is_read_among_plain_ones():
    form = FileForm(kind="workbook", time_zone="Europe/Berlin")

    found = moments(texts("2026-03-04T14:00:00+02:00", "2026-03-04 13:00:00", "2026-03-04"), form)

    assert found.tolist() == [NOON, NOON, pd.Timestamp("2026-03-03 23:00")]


@settings(max_examples=60, deadline=None)
@given(
    st.lists(
        st.one_of(
            st.datetimes().map(lambda moment: moment.strftime("%Y-%m-%d %H:%M:%S")),
            st.from_regex(r"20[0-9]{2}-[01][0-9]-[0-3][0-9] [0-2][0-9]:[0-6]0:59", fullmatch=True),
            st.sampled_from(["2024-02-29 00:00:00", "2023-02-29 00:00:00", "2026-3-4 5:6:7", "-"]),
        ),
        max_size=6,
    )
)
def test_a_moment_is_read_in_a_long_column_as_the_calendar_reads_it(cells):
    found = moments(texts(*cells), PLAIN)

    assert (
        found.tolist()
        == pd.to_datetime(texts(*cells), format="%Y-%m-%d %H:%M:%S", errors="coerce").tolist()
    )


# Moments that files bring typed

FORMS = ["%Y-%m-%d %H:%M:%S", "%d.%m.%Y %H:%M", "%m/%d/%Y", "%Y-%m-%dT%H:%M:%S%z", "ISO8601"]


def of_parquet(column: pa.Array, form: FileForm) -> pd.Series:
    out = io.BytesIO()
    pq.write_table(pa.table({"measured": column}), out)
    return moments(read(out.getvalue(), form).cells["measured"], form).reset_index(drop=True)


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("unit", ["s", "ms", "us", "ns"])
def test_a_typed_time_of_a_parquet_file_is_read_whatever_form_its_texts_have(form, unit):
    own = FileForm(kind="parquet", date_format=form, time_zone="Europe/Berlin")
    naive = pa.array([datetime(2026, 3, 4, 13), None], pa.timestamp(unit))  # noqa: DTZ001
    zoned = pa.array(
        [datetime(2026, 3, 4, 12, tzinfo=UTC), None], pa.timestamp(unit, "America/Lima")
    )

    for column in (naive, zoned, naive.dictionary_encode()):
        found = of_parquet(column, own)
        assert found[0] == NOON
        assert pd.isna(found[1])


def test_a_day_of_a_parquet_file_is_read_whatever_form_its_texts_have():
    form = FileForm(kind="parquet", date_format="%d.%m.%Y")

    assert of_parquet(pa.array([date(2026, 3, 4)]), form).tolist() == [pd.Timestamp("2026-03-04")]


def test_an_hour_that_comes_twice_in_autumn_is_told_apart_where_the_file_says_which_it_is():
    form = FileForm(kind="parquet", time_zone="Europe/Berlin")
    twice = [datetime(2025, 10, 26, hour, 30, tzinfo=UTC) for hour in (0, 1)]

    found = of_parquet(pa.array(twice, pa.timestamp("us", "UTC")), form)

    assert [one.hour for one in found] == [0, 1]


def test_a_time_to_the_thousandth_of_a_second_is_read():
    fine = pa.array([datetime(2026, 3, 4, 12, 0, 0, 5000)], pa.timestamp("ms"))  # noqa: DTZ001

    found = of_parquet(fine, FileForm(kind="parquet", date_format="%d.%m.%Y"))

    assert found[0] == NOON + pd.Timedelta(milliseconds=5)


@pytest.mark.parametrize("kind", ["workbook", "parquet"])
def test_typed_dates_and_texts_may_stand_in_one_column(kind):
    form = FileForm(kind=kind, date_format="%d.%m.%Y %H:%M", time_zone="Europe/Berlin")

    found = moments(texts("2026-03-04 13:00:00", "04.03.2026 13:00", "04/03/2026 13:00"), form)

    assert found[:2].tolist() == [NOON, NOON]
    assert pd.isna(found[2])


def test_a_text_that_is_two_days_by_two_forms_is_neither():
    form = FileForm(kind="workbook", date_format="%Y-%d-%m")

    found = moments(texts("2026-03-04", "2026-25-12", "2026-04-04"), form)

    assert found.isna().tolist() == [True, False, False]


def test_a_typed_date_of_a_workbook_is_read_beside_a_text():
    book = openpyxl.Workbook()
    page = book.active
    assert page is not None
    typed = datetime(2026, 3, 4, 12)  # noqa: DTZ001
    for row in (["Lot", "Measured"], ["L-1", typed], ["L-2", "04.03.2026 12:00"]):
        page.append(row)
    out = io.BytesIO()
    book.save(out)
    form = FileForm(kind="workbook", date_format="%d.%m.%Y %H:%M")

    cells = read(out.getvalue(), form).cells

    assert moments(cells["Measured"], form).tolist() == [NOON, NOON]


@pytest.mark.parametrize("text", ["2026", "2026-03", "20260304", "2026-3-4", "46085", "24:00"])
def test_half_a_date_in_a_workbook_is_not_made_a_whole_one(text):
    assert moments(texts(text), FileForm(kind="workbook")).isna().all()


# Texts of JSON


def test_iso_times_of_json_are_read_where_the_profile_says_so():
    form = FileForm(kind="json", date_format="ISO8601", time_zone="Europe/Berlin")

    found = moments(
        texts(
            *("2026-03-04T12:00:00Z", "2026-03-04T12:00:00.000Z", "2026-03-04T07:00:00-05:00"),
            *("2026-03-04T13:00", "2026-03-04 13:00:00.000000", "2026-03-04T14:00:00+0200"),
        ),
        form,
    )

    assert found.tolist() == [NOON] * 6


@pytest.mark.parametrize("kind", ["json", "json lines", "delimited"])
def test_iso_times_are_not_read_where_the_profile_says_otherwise(kind):
    form = FileForm(kind=kind, date_format="%d.%m.%Y")

    assert moments(texts("2026-03-04", "2026-03-04T12:00:00Z"), form).isna().all()


@settings(max_examples=150, deadline=None)
@given(
    st.lists(
        st.one_of(
            st.text("0123456789-:TZ+. ", max_size=26),
            st.datetimes(timezones=st.just(UTC) | st.none()).map(datetime.isoformat),
        ),
        max_size=5,
    ),
    st.sampled_from(["workbook", "parquet", "delimited"]),
    st.sampled_from(FORMS),
    st.sampled_from(["UTC", "Europe/Berlin"]),
)
def test_no_text_stops_a_column_of_dates(cells, kind, style, zone):
    found = moments(texts(*cells), FileForm(kind=kind, date_format=style, time_zone=zone))

    assert found.dtype.kind == "M"
    assert len(found) == len(cells)
