"""Which recovery machines may be used on which appliances."""

from datetime import date

import pytest

from compliance.rulebook.masses import parse_mass_mg
from compliance.rulebook.recovery_machines import Machine, machine_findings

ON = date(2026, 3, 2)
NEW = date(2019, 1, 1)


def found(machine, pounds=60):
    findings = machine_findings(machine, full_charge_mg=parse_mass_mg(pounds, "lb"), on=ON)
    return [(finding.citation, finding.forbids) for finding in findings]


# 40 CFR 82.154(b)(2), 82.158. That older machines count as certified under a condition is from memory.
@pytest.mark.parametrize(
    ("made_on", "is_certified", "expected"),
    [
        (NEW, True, []),
        (NEW, False, [("40 CFR 82.154(b)(2), 82.158", True)]),
        (date(1993, 11, 15), False, [("40 CFR 82.154(b)(2), 82.158", True)]),
        (date(1993, 11, 14), False, [("40 CFR 82.158", False)]),
        (date(1993, 11, 14), True, []),
    ],
)
def test_a_machine_must_be_certified(made_on, is_certified, expected):
    assert found(Machine(made_on, is_certified)) == expected


# 40 CFR 82.156(e): not with a full charge of more than 15 lb, unless permanently attached as a pump-out unit.
@pytest.mark.parametrize(
    ("pounds", "is_pump_out_unit", "is_forbidden"),
    [("15", False, False), ("15.001", False, True), ("15.001", True, False)],
)
def test_system_dependent_equipment_is_for_15_lb_at_most(pounds, is_pump_out_unit, is_forbidden):
    machine = Machine(NEW, True, is_system_dependent=True, is_pump_out_unit=is_pump_out_unit)

    assert found(machine, pounds) == ([("40 CFR 82.156(e)", True)] if is_forbidden else [])
    assert found(Machine(NEW, True), pounds) == []
