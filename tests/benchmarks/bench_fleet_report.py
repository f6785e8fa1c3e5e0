"""The annual leak rate report of 100,000 appliances beside the same sums in plain SQL, in one run over the same rows.

Needs PostgreSQL. Both give every leak rate of the year and the sums of every appliance, which must be equal; they take
turns, and the ratio of their times carries to other machines. SQL reckons the rates from the records; what it takes
when it reads them from where they are stored stands beside it, and so does the report when a hundredth of the stored
answers doesn't hold.
"""

import datetime
import os
import sys
import time
from collections.abc import Callable
from decimal import ROUND_HALF_EVEN, Decimal
from functools import partial
from statistics import median

import pytest
from django.db import connection

from compliance.models import ApplianceAssessment
from compliance.selectors.reports.annual_leak_rate import AnnualReport, annual_report
from compliance.selectors.reports.parameters import ReportParameters
from jobs.models.events import event_reference
from tests.benchmarks.fleet import assess_fleet, make_fleet
from tests.benchmarks.year_in_sql import Answer, year_in_sql

APPLIANCES = int(os.environ.get("BENCHMARK_APPLIANCES", "100000"))
ROUNDS = 3

#: The goal: the report beside the same sums in plain SQL.
MOST_TIMES_SQL = 2


@pytest.fixture
def now(transactional_db: None) -> datetime.datetime:
    """An instant at which a large firm was just assessed: tomorrow, in an hour when all sites have one day."""
    if connection.vendor != "postgresql":
        pytest.skip("makes its rows inside PostgreSQL")
    began = time.perf_counter()
    make_fleet(APPLIANCES, APPLIANCES // 20)
    tomorrow = datetime.datetime.now(datetime.UTC).date() + datetime.timedelta(days=1)
    instant = datetime.datetime.combine(tomorrow, datetime.time(18), datetime.UTC)
    assess_fleet(instant)
    with connection.cursor() as cursor:
        cursor.execute("VACUUM ANALYZE")
    _say(f"\n{APPLIANCES:,} appliances made and assessed in {time.perf_counter() - began:.0f} s")
    return instant


def _say(text: str) -> None:
    sys.stdout.write(f"{text}\n")
    sys.stdout.flush()


def _report(parameters: ReportParameters) -> AnnualReport:
    """The report with all its sums, which are otherwise made when they are shown."""
    report = annual_report(parameters)
    figures = report.figures
    for row in figures.appliances:
        _ = row.highest, row.added_mg, row.removed_mg
    _ = figures.totals, figures.clocks, figures.over, figures.chronic_count, figures.rate_count
    return report


def _by_turns(rounds: int, **works: Callable[[], object]) -> dict[str, float]:
    times: dict[str, list[float]] = {name: [] for name in works}
    for _ in range(rounds):
        for name, work in works.items():
            began = time.perf_counter()
            work()
            times[name].append(time.perf_counter() - began)
    return {name: median(taken) for name, taken in times.items()}


def _rounded(percent: Decimal) -> Decimal:
    return percent.quantize(Decimal("0.01"), ROUND_HALF_EVEN)


def _assert_same(report: AnnualReport, sql: Answer) -> None:
    appliances = report.figures.appliances
    rates = [
        (row.appliance_id, rate.on, rate.rule, rate.event, *rate[3:])
        for row in appliances
        for rate in row.rates
    ]
    of_sql = [
        (pk, on, rule, event_reference(event), int(added), days, _rounded(percent), threshold, is_over)
        for pk, on, rule, event, added, days, percent, threshold, is_over in sql["rates"]
    ]
    assert sorted(rates) == sorted(of_sql)
    assert sorted(
        (
            row.appliance_id,
            row.refrigerant,
            row.full_charge_mg,
            len({rate.event for rate in row.rates}),
            row.highest and row.highest.percent_rounded,
            row.is_over,
        )
        for row in appliances
    ) == sorted(
        (pk, name, charge, count, None if highest is None else _rounded(highest), bool(is_over))
        for pk, name, charge, count, highest, is_over in sql["appliances"]
    )
    assert sorted((row.appliance_id, *total) for row in appliances for total in row.gross) == sorted(
        sql["gross"]
    )
    assert sorted((row.appliance_id, *clock) for row in appliances for clock in row.clocks) == sorted(
        sql["clocks"]
    )
    assert sorted((row.appliance_id,) for row in appliances if row.is_chronic) == sorted(sql["chronic"])


def test_the_report_of_a_large_firm_keeps_up_with_plain_sql(now: datetime.datetime) -> None:
    on = now.date()
    parameters = ReportParameters(as_of=on, known_at=now, run_by="nobody", run_at=now, year=on.year)
    report, sql = _report(parameters), year_in_sql(on.year)
    assert report.figures.calculated_count == 0
    _assert_same(report, sql)
    _assert_same(report, year_in_sql(on.year, is_from_stored=True))

    taken = _by_turns(
        ROUNDS,
        report=partial(_report, parameters),
        records=partial(year_in_sql, on.year),
        stored=partial(year_in_sql, on.year, is_from_stored=True),
    )
    ratio = taken["report"] / taken["records"]
    _say(
        f"{report.figures.rate_count:,} leak rates of {APPLIANCES:,} appliances: plain SQL {taken['records']:.2f} s, "
        f"report {taken['report']:.2f} s, {ratio:.2f} times; SQL over what is stored {taken['stored']:.2f} s, "
        f"{taken['report'] / taken['stored']:.2f} times"
    )
    hundredth = ApplianceAssessment.objects.order_by("appliance").values("pk")[: APPLIANCES // 100]
    ApplianceAssessment.objects.filter(pk__in=hundredth).update(tables_version="former")
    parts = _by_turns(1, report=partial(_report, parameters))
    _say(f"With {APPLIANCES // 100:,} answers calculated anew: report {parts['report']:.2f} s")
    assert ratio <= MOST_TIMES_SQL
