"""How a circuit was opened: what the record must say, and which equipment may not be used."""

import datetime
from decimal import Decimal

import pytest

from jobs.models import MachineKind, ServiceEvent
from tests.factories import (
    ApplianceFactory,
    CertificationFactory,
    CylinderFactory,
    GaugeFactory,
    RecoveryMachineFactory,
    ScaleFactory,
    SiteFactory,
    TechnicianFactory,
    charged,
    file_event,
    recovered,
    supply_cylinder,
)
from tests.jobs.refused import refused

pytestmark = pytest.mark.django_db

OPENED = {
    "is_circuit_opened": True,
    "opening_kind": "major",
    "final_vacuum": Decimal(0),
    "final_vacuum_unit": "inHg_vac",
}


def small_appliance(**fields):
    return ApplianceFactory(refrigerant="R-134a", full_charge="2 lb", is_hermetically_sealed=True, **fields)


@pytest.mark.parametrize(
    ("fields", "names"),
    [
        ({"opening_kind": "surgery"}, {"opening_kind"}),
        ({"opening_kind": ""}, {"opening_kind"}),
        ({"is_circuit_opened": False}, {"opening_kind"}),
        ({"opening_kind": "leaking", "opening_note": "  "}, {"opening_note"}),
        ({"final_vacuum": None, "final_vacuum_unit": ""}, {"final_vacuum"}),
        ({"final_vacuum_unit": "torr"}, {"final_vacuum_unit"}),
    ],
)
def test_opening_is_refused(fields, names):
    assert refused(file_event, **{**OPENED, **fields}).keys() == names
    assert not ServiceEvent.objects.exists()


def test_opening_is_recorded_with_its_instruments():
    machine, gauge, scale = RecoveryMachineFactory(), GaugeFactory(), ScaleFactory()
    fields = {**OPENED, "opening_kind": "leaking", "opening_note": "Header cracked."}

    event = file_event(
        transfers=(charged(supply_cylinder(), scale=scale),), recovery_machine=machine, gauge=gauge, **fields
    ).event

    assert (event.opening_kind, event.opening_note) == ("leaking", "Header cracked.")
    assert (event.recovery_machine, event.gauge) == (machine, gauge)
    assert event.transfers.get().scale == scale


# A level that wasn't reached is recorded as it was: the officer sees it on the record.
def test_reading_short_of_the_level_is_filed():
    appliance = ApplianceFactory(full_charge="300 lb")

    assert file_event(appliance, **OPENED).event.final_vacuum == 0


def test_instruments_are_used_as_what_they_are():
    scale, gauge = ScaleFactory(), GaugeFactory()

    refusals = refused(file_event, gauge=scale, transfers=(charged(supply_cylinder(), scale=gauge),))

    assert refusals.keys() == {"gauge", "transfers-0-scale"}


# 40 CFR 82.154(b)(2), 82.158 and 82.156(e).
@pytest.mark.parametrize(
    ("machine", "charge", "citation"),
    [
        ({"certified_by": " "}, "10 lb", "40 CFR 82.154(b)(2), 82.158"),
        ({"certified_by": "", "made_on": datetime.date(1993, 11, 14)}, "10 lb", ""),
        ({"kind": MachineKind.SYSTEM_DEPENDENT}, "15 lb", ""),
        ({"kind": MachineKind.SYSTEM_DEPENDENT}, "15.001 lb", "40 CFR 82.156(e)"),
        ({"kind": MachineKind.SYSTEM_DEPENDENT, "is_pump_out_unit": True}, "15.001 lb", ""),
    ],
)
def test_machine_that_the_law_forbids_is_refused(machine, charge, citation):
    appliance = ApplianceFactory(full_charge=charge)
    fields = {**OPENED, "recovery_machine": RecoveryMachineFactory(**machine)}

    if not citation:
        assert file_event(appliance, **fields).event.recovery_machine
        return
    assert refused(file_event, appliance, **fields)["recovery_machine"].citation == citation


def test_law_of_the_united_states_forbids_nothing_elsewhere():
    appliance = ApplianceFactory(site=SiteFactory(jurisdiction="uk"))
    fields = {**OPENED, "opening_kind": "", "recovery_machine": RecoveryMachineFactory(certified_by="")}

    assert file_event(appliance, **fields).event.pk


# 40 CFR 82.156(b): a share of the refrigerant recovered, or 4 in Hg vacuum.
def test_small_appliance_needs_a_reading_or_the_mass_recovered():
    appliance = small_appliance()
    opened = {"is_circuit_opened": True, "opening_kind": "major"}

    assert refused(file_event, appliance, **opened).keys() == {"final_vacuum"}
    filing = file_event(appliance, transfers=(recovered(CylinderFactory(), "1.8 lb"),), **opened)

    assert filing.event.final_vacuum is None


# 40 CFR 82.161(a)(1)(vii).
@pytest.mark.parametrize(
    ("kinds", "sealed", "is_refused"),
    [
        (("disposal",), True, False),
        (("disposal", "service"), True, True),
        (("disposal",), False, True),
        (("service",), True, True),
    ],
)
def test_disposal_of_a_small_appliance_takes_no_certificate(kinds, sealed, is_refused):
    appliance = ApplianceFactory(refrigerant="R-134a", full_charge="2 lb", is_hermetically_sealed=sealed)
    fields = {"technician": TechnicianFactory(certified=False), "work_kinds": kinds}

    if is_refused:
        assert refused(file_event, appliance, **fields).keys() == {"technician"}
    else:
        assert file_event(appliance, **fields).event.certification is None


# 40 CFR 82.161: a certificate under section 609 covers MVAC-like appliances and nothing else here.
@pytest.mark.parametrize("is_mvac_like", [True, False])
def test_section_609_covers_mvac_like_appliances(is_mvac_like):
    technician = TechnicianFactory(certified=False)
    certificate = CertificationFactory(technician=technician, type="section_609")
    appliance = ApplianceFactory(refrigerant="R-134a", full_charge="4 lb", is_mvac_like=is_mvac_like)

    if is_mvac_like:
        assert file_event(appliance, technician=technician).event.certification == certificate
    else:
        assert refused(file_event, appliance, technician=technician).keys() == {"technician"}
