"""California's Refrigerant Management Program: 17 CCR 95381 to 95389."""

import pytest

from tests.compliance.rulebook.scenario import added, ask, brief, fact, only, repaired, rows

STORE = {
    "rules": ("us-california",),
    "category": "commercial_refrigeration",
    "refrigerant": "R-404A",
    "installed_on": "2026-01-15",
}
LEAK = fact("leak_inspection", "2026-03-01", leaks_found=1)


@pytest.mark.parametrize(
    ("change", "applies"),
    [
        ({"full_charge": 50}, False),
        ({"full_charge": 51}, True),
        ({"refrigerant": "R-744"}, False),
        ({"refrigerant": "R-454C"}, False),
        ({"refrigerant": "R-22"}, True),
        ({"category": "comfort_cooling"}, False),
        ({"category": "refrigerated_transport"}, False),
        ({"category": "industrial_process_refrigeration"}, True),
    ],
)
def test_it_covers_refrigeration_of_more_than_50_lb_of_high_gwp(change, applies):
    assert bool(ask([], **{**STORE, **change}).applies) == applies


@pytest.mark.parametrize(
    ("pounds", "enclosed", "due"),
    [
        (199, False, "2027-01-15"),
        (200, False, "2026-04-15"),
        (1999, True, "2026-04-15"),
        (2000, True, "2026-02-15"),
        (2000, False, "2026-04-15"),
    ],
)
def test_inspections_by_size_and_enclosure(pounds, enclosed, due):
    answer = ask([], **STORE, full_charge=pounds, enclosed=enclosed, as_of="2026-01-16")

    assert brief(only(answer, "leak_inspection")) == ("2026-01-15", due, "open")


def test_the_next_inspection_counts_from_the_last():
    answer = ask([fact("leak_inspection", "2026-03-01")], **STORE, full_charge=300, as_of="2026-03-02")

    assert [brief(row) for row in rows(answer, "leak_inspection")] == [
        ("2026-01-15", "2026-04-15", "met"),
        ("2026-03-01", "2026-06-01", "open"),
    ]


@pytest.mark.parametrize(
    ("pounds", "enclosed", "status"),
    [(300, False, "cancelled"), (2000, True, "cancelled"), (2000, False, "open")],
)
def test_detection_replaces_inspections_of_large_systems_only_inside(pounds, enclosed, status):
    detection = fact("automatic_leak_detection", "2026-01-15", type="direct")

    answer = ask([detection], **STORE, full_charge=pounds, enclosed=enclosed, as_of="2026-01-16")

    assert only(answer, "leak_inspection").status == status


def test_inspections_are_owed_again_when_the_detection_that_replaced_them_is_not_calibrated():
    detection = fact("automatic_leak_detection", "2026-01-15", type="direct")

    answer = ask([detection], **STORE, full_charge=300, as_of="2027-05-01")

    assert [brief(row)[1:] for row in rows(answer, "leak_inspection")] == [
        ("2026-04-15", "cancelled"),
        ("2026-07-15", "cancelled"),
        ("2026-10-15", "cancelled"),
        ("2027-01-15", "cancelled"),
        ("2027-04-15", "overdue"),
    ]


@pytest.mark.parametrize("kind", ["leak_inspection", "repair", "leak_detection_calibration"])
def test_what_is_done_after_retirement_meets_nothing(kind):
    facts = [
        fact("automatic_leak_detection", "2026-02-01", type="indirect"),
        LEAK,
        fact("retired", "2026-03-10"),
    ]
    done = {} if kind != "leak_inspection" else {"leaks_found": 0}

    answer = ask([*facts, fact(kind, "2026-03-11", **done)], **STORE, full_charge=300, as_of="2027-04-01")

    assert rows(answer, kind)[-1].status == "cancelled"
    assert "retired on 2026-03-10" in rows(answer, kind)[-1].because


def test_large_enclosed_systems_need_detection():
    answer = ask([], **STORE, full_charge=2000, enclosed=True, as_of="2026-02-01")

    assert brief(only(answer, "automatic_leak_detection")) == ("2026-01-15", "2026-01-15", "overdue")


@pytest.mark.parametrize(("on", "status"), [("2026-03-15", "met"), ("2026-03-16", "met_late")])
def test_any_leak_is_repaired_within_14_days(on, status):
    row = only(ask([LEAK, repaired(on)], **STORE), "repair")

    assert brief(row) == ("2026-03-01", "2026-03-15", status)


@pytest.mark.parametrize(
    "reason",
    [
        fact("extension", "2026-03-15", obligation="repair", basis="parts"),
        fact("industrial_process_shutdown_required", "2026-03-02"),
    ],
)
def test_parts_or_a_shutdown_give_45_days(reason):
    answer = ask(
        [LEAK, reason], **{**STORE, "category": "industrial_process_refrigeration"}, as_of="2026-03-20"
    )

    assert brief(only(answer, "repair")) == ("2026-03-01", "2026-04-15", "open")


def test_an_addition_that_names_a_leak_detects_it():
    assert len(rows(ask([added("2026-03-01", 1, leak="valve")], **STORE), "repair")) == 1
    assert rows(ask([added("2026-03-01", 1)], **STORE), "repair") == []


def test_records_are_kept_five_years_on_memory():
    row = only(ask([LEAK], **STORE), "record_retention")

    assert (str(row.due_on), row.is_confirmed) == ("2031-03-01", False)


def test_inspections_of_a_retrofitted_system_begin_with_the_retrofit():
    retrofit = fact(
        "retrofitted", "2026-02-01", refrigerant="R-404A", full_charge={"value": 300, "unit": "lb"}
    )

    answer = ask([retrofit], **{**STORE, "refrigerant": "R-744"}, full_charge=300, as_of="2026-03-01")

    assert brief(only(answer, "leak_inspection")) == ("2026-02-01", "2026-05-01", "open")
