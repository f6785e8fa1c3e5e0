"""Registers of recovery machines, scales and gauges; calibrations that are appended and corrected, never edited."""

import datetime
from decimal import Decimal

import pytest

from jobs.errors import FiledRecordIsFixed
from jobs.models import Calibration
from jobs.selectors.instruments import calibration_on, instrument_list, recovery_machine_list
from jobs.services.calibrations import calibration_correct, calibration_record
from jobs.services.instruments import (
    instrument_change,
    instrument_register,
    recovery_machine_change,
    recovery_machine_register,
)
from tests.factories import (
    FILED_AT,
    HAPPENED_ON,
    GaugeFactory,
    RecoveryMachineFactory,
    ScaleFactory,
    UserFactory,
    charged,
    file_event,
    supply_cylinder,
)
from tests.jobs.refused import refused

pytestmark = pytest.mark.django_db

MACHINE = {"make": "Hollin", "model": "R3", "serial_number": "RM-1", "made_on": datetime.date(2019, 2, 1)}
SCALE = {
    "kind": "scale",
    "make": "Tarn",
    "serial_number": "SC-1",
    "division_entered": "2",
    "division_unit": "g",
}


def day(text):
    return datetime.date.fromisoformat(text)


def calibrated(instrument, on="2026-01-10", **fields):
    values = {"certificate_number": "K-100", "calibrated_by": "Weights Laboratory", "recorded_at": FILED_AT}
    return calibration_record(
        by=UserFactory(), instrument=instrument, calibrated_on=day(on), **{**values, **fields}
    )


def test_machine_is_registered_and_changed_with_history():
    by = UserFactory()
    machine = recovery_machine_register(by=by, **MACHINE)

    recovery_machine_change(by=by, machine=machine, certified_by="Equipment Testing Institute")

    assert [row.certified_by for row in machine.history.order_by("history_id")] == [
        "",
        "Equipment Testing Institute",
    ]
    assert machine.history.first().history_user == by


def test_a_leak_detector_is_registered_in_its_own_units():
    detector = instrument_register(
        by=UserFactory(),
        **{**SCALE, "kind": "leak_detector", "division_entered": "3", "division_unit": "g/yr"},
    )

    assert (detector.division, detector.division_mg) == ("3 g/yr", None)


@pytest.mark.parametrize(
    ("fields", "name"),
    [
        ({"serial_number": ""}, "serial_number"),
        ({"made_on": None}, "made_on"),
        ({"made_on": datetime.date(2099, 1, 1)}, "made_on"),
        ({"kind": "magic"}, "kind"),
        ({"is_pump_out_unit": True}, "is_pump_out_unit"),
    ],
)
def test_machine_is_refused(fields, name):
    assert refused(recovery_machine_register, by=UserFactory(), **{**MACHINE, **fields}).keys() == {name}


# NIST SP 811, appendix B.8: 1 oz is 28.349523125 g, 1 lb is 453.59237 g.
@pytest.mark.parametrize(
    ("division", "unit", "division_mg"),
    [
        ("2", "g", 2_000),
        ("5", "g", 5_000),
        ("0.1", "oz", 2_835),
        ("0.01", "lb", 4_536),
        ("0.001", "kg", 1_000),
    ],
)
def test_scale_keeps_its_division_in_milligrams(division, unit, division_mg):
    typed = {**SCALE, "division_entered": division, "division_unit": unit, "accuracy_entered": division}

    scale = instrument_register(by=UserFactory(), accuracy_pct=Decimal("0.5"), **typed)

    assert (scale.division_mg, scale.accuracy_mg) == (division_mg, division_mg)
    assert (scale.division_entered, scale.division_unit) == (division, unit)


@pytest.mark.parametrize(
    ("fields", "name"),
    [
        ({"division_entered": "0"}, "division_entered"),
        ({"division_entered": "fine"}, "division_entered"),
        ({"division_entered": "NaN"}, "division_entered"),
        ({"division_entered": "0.0001"}, "division_entered"),
        ({"accuracy_entered": "-1"}, "accuracy_entered"),
        ({"accuracy_pct": Decimal(21)}, "accuracy_pct"),
        ({"division_unit": "micron"}, "division_unit"),
        ({"kind": "vacuum_gauge"}, "division_unit"),
        ({"kind": "leak_detector"}, "division_unit"),
        ({"division_unit": "g/yr"}, "division_unit"),
        ({"kind": "sundial"}, "kind"),
        ({"calibration_interval_months": 0}, "calibration_interval_months"),
        ({"calibration_interval_months": 61}, "calibration_interval_months"),
    ],
)
def test_instrument_is_refused(fields, name):
    assert name in refused(instrument_register, by=UserFactory(), **{**SCALE, **fields})


def test_serial_number_stands_once():
    instrument_register(by=UserFactory(), **SCALE)

    assert refused(instrument_register, by=UserFactory(), **SCALE).keys() == {"serial_number"}


def test_kind_stays_once_a_record_names_the_scale():
    scale = ScaleFactory()
    file_event(transfers=(charged(supply_cylinder(), scale=scale),))

    refusals = refused(
        instrument_change, by=UserFactory(), instrument=scale, kind="vacuum_gauge", division_unit="micron"
    )

    assert refusals.keys() == {"kind"}


# Months clamp to the month's end.
@pytest.mark.parametrize(
    ("calibrated_on", "months", "due_on"),
    [("2026-01-10", 12, "2027-01-10"), ("2025-08-31", 6, "2026-02-28"), ("2024-02-29", 12, "2025-02-28")],
)
def test_calibration_is_due_an_interval_later(calibrated_on, months, due_on):
    scale = ScaleFactory(calibration_interval_months=months)

    assert calibrated(scale, calibrated_on).due_on == day(due_on)


@pytest.mark.parametrize(
    ("fields", "name"),
    [
        ({"on": "2026-03-03"}, "calibrated_on"),
        ({"due_on": datetime.date(2026, 1, 9)}, "due_on"),
        ({"certificate_number": " "}, "certificate_number"),
        ({"calibrated_by": ""}, "calibrated_by"),
    ],
)
def test_calibration_is_refused(fields, name):
    assert refused(calibrated, ScaleFactory(), **fields).keys() == {name}


def test_calibration_that_counts_on_a_day_is_the_last_before_it():
    scale = ScaleFactory()
    first, second = calibrated(scale, "2025-01-10"), calibrated(scale, "2026-02-01")

    found = {
        on: calibration_on(scale, day(on)) for on in ("2025-01-09", "2025-01-10", "2026-01-31", "2026-02-01")
    }

    assert list(found.values()) == [None, first, first, second]
    assert first.holds_on(day("2026-01-10"))
    assert not first.holds_on(day("2026-01-11"))


def test_calibration_is_never_edited_and_a_correction_takes_its_place():
    scale = ScaleFactory()
    former = calibrated(scale, "2026-01-10")
    former.certificate_number = "K-101"
    with pytest.raises(FiledRecordIsFixed):
        former.save()

    newer = calibration_correct(
        by=UserFactory(),
        calibration=former,
        reason="Misread.",
        is_void=False,
        calibrated_on=day("2025-12-10"),
        due_on=None,
        recorded_at=FILED_AT,
    )

    assert calibration_on(scale, HAPPENED_ON) == newer
    assert (newer.certificate_number, newer.due_on) == ("K-100", day("2026-12-10"))
    assert Calibration.objects.get(pk=former.pk).certificate_number == "K-100"
    again = refused(calibration_correct, by=UserFactory(), calibration=former, reason="Again.", is_void=False)
    assert again.keys() == {"calibrated_on"}


def test_void_calibration_counts_for_nothing():
    scale = ScaleFactory()
    row = calibrated(scale)
    assert refused(
        calibration_correct, by=UserFactory(), calibration=row, reason=" ", is_void=True
    ).keys() == {"correction_reason"}

    calibration_correct(by=UserFactory(), calibration=row, reason="Another scale's.", is_void=True)

    assert calibration_on(scale, HAPPENED_ON) is None
    assert instrument_list().get(pk=scale.pk).due_on is None


def test_lists_are_searched():
    scale, gauge, machine = ScaleFactory(), GaugeFactory(), RecoveryMachineFactory(is_in_use=False)
    calibrated(scale, certificate_number="K-777")
    calibrated(scale, "2026-02-02", certificate_number="K-778")

    assert list(instrument_list(search="k-77")) == [scale]
    assert list(instrument_list(kind="vacuum_gauge")) == [gauge]
    assert instrument_list().get(pk=scale.pk).due_on == day("2027-02-02")
    assert list(recovery_machine_list(search="hollin")) == [machine]
