"""What was lost between charges: one interval from each charge to the next."""

from datetime import date

from compliance.forecast.loss import MOST_INTERVALS, loss_intervals
from compliance.rulebook.parse import parse
from tests.compliance.rulebook.scenario import added, days_after, document, fact, lb, removed

POUND_MG = 453_592.37


def intervals(*facts, as_of="2026-09-01"):
    request = parse(document(list(facts), as_of=as_of))
    return [
        (str(row.begins_on), str(row.ends_on), round(row.lost_mg / POUND_MG, 3))
        for row in loss_intervals(request.facts, request.as_of)
    ]


def test_an_interval_runs_from_charge_to_charge():
    assert intervals(added("2026-01-01", 5), added("2026-03-01", 6), added("2026-06-01", 7)) == [
        ("2026-01-01", "2026-03-01", 6.0),
        ("2026-03-01", "2026-06-01", 7.0),
    ]


def test_the_first_charge_begins_one_and_ends_none():
    assert intervals(added("2026-03-01", 6)) == []


def test_what_comes_after_the_day_asked_about_does_not_count():
    assert intervals(added("2026-01-01", 5), added("2026-03-01", 6), as_of="2026-02-01") == []


def test_an_event_counts_by_its_net():
    begin = added("2026-01-01", 5)
    put_back = [removed("2026-03-01", 40, event="E2"), added("2026-03-01", 43, event="E2")]
    no_more = [removed("2026-04-01", 40, event="E3"), added("2026-04-01", 40, event="E3")]

    assert intervals(begin, *put_back, *no_more) == [("2026-01-01", "2026-03-01", 3.0)]


def test_events_of_one_day_count_together():
    assert intervals(
        added("2026-01-01", 5), added("2026-03-01", 2, event="E2"), added("2026-03-01", 3, event="E3")
    ) == [("2026-01-01", "2026-03-01", 5.0)]


def test_a_charge_on_installation_or_for_the_season_begins_an_interval_and_is_no_loss():
    assert intervals(
        added("2026-01-01", 100, reason="installation"),
        added("2026-02-01", 8, reason="seasonal_variance"),
        added("2026-05-01", 6),
    ) == [("2026-02-01", "2026-05-01", 6.0)]


def test_a_retrofit_begins_anew():
    retrofit = fact("retrofitted", "2026-04-01", refrigerant="R-407C", full_charge=lb(90))

    assert intervals(
        added("2026-01-01", 5),
        added("2026-03-01", 6),
        retrofit,
        added("2026-04-01", 90, reason="retrofit"),
        added("2026-07-01", 4),
    ) == [("2026-04-01", "2026-07-01", 4.0)]


def test_purged_and_destroyed_refrigerant_was_not_lost():
    purged = {**added("2026-03-01", 6), "purged_and_destroyed": lb(2)}

    assert intervals(added("2026-01-01", 5), purged) == [("2026-01-01", "2026-03-01", 4.0)]


def test_only_the_newest_count_and_none_that_ended_more_than_three_years_ago():
    monthly = [added(days_after("2025-01-01", 30 * number), 5) for number in range(MOST_INTERVALS + 4)]

    newest = intervals(*monthly)
    assert len(newest) == MOST_INTERVALS
    assert newest[-1][1] == days_after("2025-01-01", 30 * (MOST_INTERVALS + 3))
    assert intervals(added("2023-01-01", 5), added("2023-08-31", 6), as_of="2026-09-01") == []


def test_an_interval_knows_its_mean_loss():
    request = parse(document([added("2026-01-01", 5), added("2026-01-11", 10)]))
    (row,) = loss_intervals(request.facts, date(2026, 9, 1))

    assert row.days == 10
    assert round(float(row.mg_per_day) / POUND_MG, 6) == 1.0
