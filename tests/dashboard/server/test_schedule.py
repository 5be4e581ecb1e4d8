"""What a server does by itself, whatever becomes of its clock, its jobs and its machine."""

import json
import stat
import threading
from dataclasses import dataclass
from datetime import UTC, datetime, time, timedelta

import pytest

from dashboard.server.runs import Runs
from dashboard.server.schedule import Daily, Done, Every, Job, Schedule
from spc.errors import InvalidInput, StoreError

DAY = timedelta(days=1)
NIGHT = Daily(time(2, 0))


def utc(day, hour=12, minute=0):
    """A moment of March 2027 by this machine's own clock, in UTC without zone."""
    here = datetime(2027, 3, day, hour, minute).astimezone()
    return here.astimezone(UTC).replace(tzinfo=None)


@dataclass
class Clock:
    now: datetime

    def __call__(self):
        return self.now


@pytest.fixture
def clock():
    return Clock(utc(1))


@pytest.fixture
def kept(tmp_path):
    """Runs, read anew each time as a server that starts does."""
    return lambda: Runs(tmp_path / "lots.duckdb.runs.json")


def counted(name="count", when=NIGHT, **more):
    """A job that counts how often it ran."""
    ran = []

    def work():
        ran.append(name)
        return Done(said=f"{len(ran)} so far.")

    return Job(name=name, when=when, work=work, **more), ran


def test_a_daily_job_waits_for_its_hour_and_runs_once_a_day(clock, kept):
    job, ran = counted()
    schedule = Schedule([job], kept(), clock=clock)

    for moment in (utc(1), utc(2, 1, 59), utc(2, 2), utc(2, 2, 1), utc(2, 23), utc(3, 2)):
        clock.now = moment
        schedule.look()

    assert len(ran) == 2
    assert [one.began for one in kept().of("count")] == [utc(3, 2), utc(2, 2)]


def test_days_that_the_machine_slept_or_was_off_are_made_up_for_once(clock, kept):
    job, ran = counted()
    Schedule([job], kept(), clock=clock).look()
    clock.now = utc(9, 8)

    fresh = Schedule([job], kept(), clock=clock)

    assert (fresh.look(), fresh.look()) == (1, 0)
    assert len(ran) == 1
    assert fresh.told()[0].upcoming == utc(10, 2)


def test_a_job_that_never_ran_runs_at_once_where_it_says_so(clock, kept):
    (waits, first), (starts, second) = counted("waits"), counted("starts", at_once=True)

    Schedule([waits, starts], kept(), clock=clock).look()

    assert (first, second) == ([], ["starts"])


def test_a_clock_set_back_makes_a_job_run_again_and_not_wait_for_years(clock, kept):
    job, ran = counted(at_once=True)
    clock.now = utc(1) + 900 * DAY
    Schedule([job], kept(), clock=clock).look()

    clock.now = utc(1)
    schedule = Schedule([job], kept(), clock=clock)

    assert [schedule.look(), schedule.look()] == [1, 0]
    clock.now = utc(2, 2)
    assert schedule.look() == 1
    assert len(ran) == 3


def test_a_clock_that_is_set_right_by_a_second_changes_nothing(clock, kept):
    job, _ = counted(at_once=True)
    schedule = Schedule([job], kept(), clock=clock)
    schedule.look()
    clock.now -= timedelta(seconds=1)

    assert schedule.look() == 0


def test_a_period_is_counted_from_the_run_before(clock, kept):
    job, ran = counted(when=Every(timedelta(hours=6)), at_once=True)
    schedule = Schedule([job], kept(), clock=clock)

    for hours in range(13):
        clock.now = utc(1) + timedelta(hours=hours)
        schedule.look()

    assert len(ran) == 3


@pytest.mark.parametrize(
    ("problem", "told"),
    [
        (StoreError("the disk is full.", remedy="Free some."), "the disk is full. Free some."),
        (OSError(28, "No space left"), "[Errno 28] No space left"),
        (ZeroDivisionError(), "it broke off; the server's own messages say where."),
    ],
    ids=["told", "of the system", "nobody foresaw"],
)
@pytest.mark.filterwarnings("ignore::pytest.PytestUnhandledThreadExceptionWarning")
def test_a_failing_job_is_told_and_ends_no_other(clock, kept, problem, told):
    def fails():
        raise problem

    job, ran = counted("other", at_once=True)
    schedule = Schedule(
        [Job(name="fails", when=NIGHT, work=fails, at_once=True), job], kept(), clock=clock
    )

    schedule.look()

    failed, other = schedule.told()
    assert [(one.good, one.said) for one in failed.runs] == [(False, told)]
    assert failed.failed == failed.last
    assert ([one.good for one in other.runs], ran) == ([True], ["other"])


def test_who_asked_for_a_run_stands_beside_it(clock, kept):
    job, _ = counted()
    schedule = Schedule([job], kept(), clock=clock)

    schedule.ask("count", by="Mara Quill")

    assert schedule.told()[0].busy
    schedule.look()
    told = schedule.told()[0]
    assert ([one.by for one in told.runs], told.busy) == (["Mara Quill"], False)
    with pytest.raises(InvalidInput, match="nothing named 'tidy' runs here"):
        schedule.ask("tidy", by="Mara Quill")


def test_jobs_run_in_the_background_one_at_a_time(clock, kept):
    at_once, most, both = [0], [0], threading.Barrier(2)

    def work():
        at_once[0] += 1
        most[0] = max(most[0], at_once[0])
        at_once[0] -= 1
        return Done(said="done.")

    def last():
        both.wait(timeout=10)
        return work()

    jobs = [
        Job(name="first", when=NIGHT, work=work, at_once=True),
        Job(name="second", when=NIGHT, work=last),
    ]
    schedule = Schedule(jobs, kept(), clock=clock)

    with schedule.running(every_s=60):
        schedule.ask("second", by="Jonas Terrow")
        both.wait(timeout=10)

    assert [run.by for one in schedule.told() for run in one.runs] == ["", "Jonas Terrow"]
    assert most == [1]


def test_the_newest_runs_are_kept_and_failures_longer(clock, kept):
    job, _ = counted(when=Every(DAY), at_once=True)
    good = [True]
    job = Job(
        name="count",
        when=job.when,
        work=lambda: Done(said="looked.", good=good[0]),
        at_once=True,
    )
    schedule = Schedule([job], kept(), clock=clock)
    for day in range(60):
        clock.now = utc(1) + day * DAY
        good[0] = day not in range(5, 20)
        schedule.look()

    runs = kept().of("count")

    assert len(runs) == 40
    assert runs[0].began == utc(1) + 59 * DAY
    assert [one.good for one in runs] == [True] * 30 + [False] * 10
    assert runs[30].began == utc(1) + 19 * DAY


def test_only_their_owner_reads_the_runs_and_a_broken_file_is_begun_anew(clock, kept, tmp_path):
    job, _ = counted(at_once=True)
    Schedule([job], kept(), clock=clock).look()
    file = tmp_path / "lots.duckdb.runs.json"
    mode = stat.S_IMODE(file.stat().st_mode)
    file.write_text('{"count": {"runs": [')

    again = Schedule([job], kept(), clock=clock)
    again.look()

    assert mode == 0o600
    assert len(json.loads(file.read_text())["count"]["runs"]) == 1
