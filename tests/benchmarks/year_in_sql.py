"""A year's leak rates and sums in plain SQL, as somebody would write them who knew of nothing but PostgreSQL.

It reckons by 40 CFR 82.152, 82.157(b) and 84.106(b) what happens in the benchmark's fleet, and takes for granted what
doesn't: nobody takes refrigerant out, an event adds once, an appliance has one leak and one change of its full charge.
How clocks ended can't be told in SQL: those rows are counted as they are stored.
"""

from typing import Any

from django.db import connection

_RATED = """
CREATE TEMPORARY TABLE rated ON COMMIT PRESERVE ROWS AS
WITH standing AS (
    SELECT id, appliance_id, happened_on, COALESCE(original_id, id) AS place FROM jobs_serviceevent AS e
    WHERE NOT is_void AND NOT EXISTS (SELECT 1 FROM jobs_serviceevent AS s WHERE s.supersedes_id = e.id)
), anew AS (
    SELECT s.appliance_id, s.happened_on, s.place FROM standing AS s
    JOIN jobs_verificationtest AS v ON v.event_id = s.id
    WHERE v.kind = 'follow_up_verification_test' AND v.is_passed
), charged AS (
    SELECT s.appliance_id, s.happened_on, s.place, (c.details ->> 'full_charge_mg')::bigint AS mg
    FROM standing AS s JOIN jobs_statement AS c ON c.event_id = s.id WHERE c.kind = 'full_charge_change'
), added AS (
    SELECT s.id, s.appliance_id, s.happened_on, s.place, t.leak_id, sum(t.mass_mg)::bigint AS net_mg,
        count(*) AS entries
    FROM standing AS s JOIN jobs_transfer AS t ON t.event_id = s.id AND t.reverses_id IS NULL
    JOIN jobs_holder AS h ON h.id = t.to_holder_id AND h.appliance_id = s.appliance_id
    GROUP BY s.id, s.appliance_id, s.happened_on, s.place, t.leak_id
), described AS (
    SELECT d.*, a.category, a.refrigerant, a.installed_on, site.leak_rate_method,
        anew.happened_on AS since_on, COALESCE(charged.mg, a.full_charge_mg) AS charge_mg,
        d.happened_on - lag(d.happened_on) OVER in_order AS since_last,
        (d.happened_on - DATE '2000-01-01') * 1000 + row_number() OVER (
            PARTITION BY d.appliance_id, d.happened_on ORDER BY d.place
        ) AS moment
    FROM added AS d JOIN jobs_appliance AS a ON a.id = d.appliance_id JOIN jobs_site AS site ON site.id = a.site_id
    LEFT JOIN anew ON anew.appliance_id = d.appliance_id
        AND (anew.happened_on, anew.place) < (d.happened_on, d.place)
    LEFT JOIN charged ON charged.appliance_id = d.appliance_id
        AND (charged.happened_on, charged.place) < (d.happened_on, d.place)
    WHERE site.jurisdiction LIKE 'us-%%'
    WINDOW in_order AS (PARTITION BY d.appliance_id ORDER BY d.happened_on, d.place)
), reckoned AS (
    SELECT *, least(365, greatest(1, COALESCE(since_last, happened_on - installed_on))) AS days_alone,
        sum(net_mg) OVER a_year AS year_mg, sum(entries) OVER a_year AS year_entries,
        sum(net_mg) FILTER (WHERE happened_on >= '2026-01-01') OVER a_year AS year_2026_mg
    FROM described
    WINDOW a_year AS (
        PARTITION BY appliance_id, since_on ORDER BY moment RANGE BETWEEN 364499 PRECEDING AND CURRENT ROW
    )
), ruled AS (
    SELECT r.*, rule.name AS rule,
        sum(net_mg) OVER a_leak AS leak_mg, sum(entries) OVER a_leak AS leak_entries,
        first_value(days_alone) OVER a_leak AS leak_days,
        CASE category WHEN 'commercial_refrigeration' THEN 20 ELSE 10 END AS threshold_pct,
        rule.name = 'us-federal-hfc' AND row_number() OVER (
            PARTITION BY appliance_id, rule.name ORDER BY happened_on, place
        ) = 1 AS is_first
    FROM reckoned AS r JOIN (VALUES
        ('us-federal-ods', DATE '2019-01-01', 22679618.5), ('us-federal-hfc', DATE '2026-01-01', 6803885.55)
    ) AS rule (name, begins_on, least_mg) ON (refrigerant = 'R-22') = (rule.name = 'us-federal-ods')
        AND happened_on >= rule.begins_on AND charge_mg + 1 >= rule.least_mg
    WINDOW a_leak AS (PARTITION BY appliance_id, rule.name, COALESCE(leak_id, -id) ORDER BY happened_on, place)
), figures AS (
    SELECT *, CASE WHEN leak_rate_method = 'annualizing' THEN leak_mg
            WHEN is_first THEN year_2026_mg ELSE year_mg END AS added_mg,
        CASE WHEN leak_rate_method = 'annualizing' THEN leak_entries ELSE year_entries END AS all_entries,
        CASE WHEN leak_rate_method <> 'annualizing' THEN happened_on + 1 - greatest(
                happened_on - 364, since_on, CASE WHEN is_first THEN DATE '2026-01-01' END
            ) WHEN is_first THEN 365 ELSE leak_days END AS days
    FROM ruled
)
SELECT appliance_id, happened_on, rule, id AS event_id, added_mg, days, threshold_pct, net_mg, entries, charge_mg,
    added_mg * 36500 / (charge_mg * divisor) AS percent,
    (added_mg - all_entries) * 36500 > threshold_pct * charge_mg * divisor AS is_over
FROM figures, LATERAL (SELECT CASE WHEN leak_rate_method = 'annualizing' THEN days ELSE 365 END AS divisor) AS d
WHERE happened_on BETWEEN %(first)s AND %(last)s
"""
_STORED = """
CREATE TEMPORARY TABLE rated ON COMMIT PRESERVE ROWS AS
SELECT appliance_id, "on" AS happened_on, rule, event_id, added_mg, days, threshold_pct, rate_pct AS percent,
    exceeds AS is_over
FROM compliance_leakrate WHERE "on" BETWEEN %(first)s AND %(last)s
"""
_QUERIES = {
    "rates": """SELECT appliance_id, happened_on, rule, event_id, added_mg, days, percent, threshold_pct, is_over
        FROM rated ORDER BY appliance_id, happened_on""",
    "appliances": """SELECT a.id, a.refrigerant, COALESCE(max((c.details ->> 'full_charge_mg')::bigint),
            a.full_charge_mg), count(DISTINCT r.event_id), max(r.percent), bool_or(r.is_over)
        FROM jobs_appliance AS a LEFT JOIN rated AS r ON r.appliance_id = a.id
        LEFT JOIN (jobs_serviceevent AS e JOIN jobs_statement AS c ON c.event_id = e.id
            AND c.kind = 'full_charge_change' AND e.happened_on <= %(last)s) ON e.appliance_id = a.id
        WHERE a.installed_on <= %(last)s GROUP BY a.id""",
    "gross": """SELECT e.appliance_id, t.refrigerant,
            sum(CASE WHEN h.appliance_id = e.appliance_id THEN t.mass_mg ELSE 0 END),
            sum(CASE WHEN h.appliance_id = e.appliance_id THEN 0 ELSE t.mass_mg END)
        FROM jobs_transfer AS t JOIN jobs_serviceevent AS e ON e.id = t.event_id
        JOIN jobs_holder AS h ON h.id = t.to_holder_id
        WHERE t.happened_on BETWEEN %(first)s AND %(last)s GROUP BY 1, 2""",
    "clocks": """SELECT appliance_id, kind, status, count(*) FROM compliance_obligation
        WHERE kind <> 'record_retention' AND (opened_on BETWEEN %(first)s AND %(last)s
            OR due_on BETWEEN %(first)s AND %(last)s OR met_on BETWEEN %(first)s AND %(last)s) GROUP BY 1, 2, 3""",
}
_CHRONIC = {
    "chronic": """SELECT DISTINCT appliance_id FROM (
            SELECT appliance_id, rule, sum(net_mg) + sum(entries) AS most_mg, max(charge_mg) AS charge_mg
            FROM rated GROUP BY 1, 2
        ) AS years WHERE most_mg * 100 >= 125 * charge_mg""",
}
_CHRONIC_STORED = {
    "chronic": """SELECT DISTINCT appliance_id FROM compliance_obligation
        WHERE kind = 'chronic_leak_report' AND opened_on BETWEEN %(first)s AND %(last)s""",
}

Answer = dict[str, list[tuple[Any, ...]]]


def year_in_sql(year: int, *, is_from_stored: bool = False) -> Answer:
    """Every rate of a year, and the sums of each appliance.

    Args:
        year: the calendar year.
        is_from_stored: whether rates are read from where they are stored, rather than reckoned from the records.
    """
    days = {"first": f"{year}-01-01", "last": f"{year}-12-31"}
    rest = _CHRONIC_STORED if is_from_stored else _CHRONIC
    with connection.cursor() as cursor:
        cursor.execute(_STORED if is_from_stored else _RATED, days)
        answer = {}
        for name, query in (_QUERIES | rest).items():
            cursor.execute(query, days)
            answer[name] = cursor.fetchall()
        cursor.execute("DROP TABLE rated")
    return answer
