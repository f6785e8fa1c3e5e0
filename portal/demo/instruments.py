"""Registers the demo firm's recovery machines, scales and gauges with their calibrations; says who carries what."""

from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal
from typing import Any

from jobs.models import Instrument, RecoveryMachine
from jobs.services.calibrations import calibration_record
from jobs.services.instruments import instrument_register, recovery_machine_register
from portal.accounts.models import User
from portal.demo.firm import Firm

LABORATORY = "Lakeshore Weights and Measures"
#: The certificate comes with the instrument.
ON_ITS_WAY_BACK = timedelta(days=2)


@dataclass(frozen=True)
class Kit:
    """What a technician carries."""

    recovery_machine: RecoveryMachine | None = None
    scale: Instrument | None = None
    gauge: Instrument | None = None


NO_KIT = Kit()


def register_kits(firm: Firm, *, by: User, now: datetime) -> dict[str, Kit]:
    """Register every machine and instrument; returns each technician's kit by name."""
    machines = {
        data["serial_number"]: recovery_machine_register(
            by=by, recorded_at=now, **{**data, "made_on": date.fromisoformat(data["made_on"])}
        )
        for data in firm.data["recovery_machines"]
    }
    instruments = {
        data["serial_number"]: _register_instrument(firm, data, by=by, now=now)
        for data in firm.data["instruments"]
    }
    return {
        name: Kit(machines[kit["recovery_machine"]], instruments[kit["scale"]], instruments[kit["gauge"]])
        for kit in firm.data["kits"]
        for name in kit["technicians"]
    }


def _register_instrument(firm: Firm, data: dict[str, Any], *, by: User, now: datetime) -> Instrument:
    fields = {name: value for name, value in data.items() if name != "calibrated_days_ago"}
    if "accuracy_pct" in fields:
        fields["accuracy_pct"] = Decimal(fields["accuracy_pct"])
    instrument = instrument_register(by=by, **fields)
    for number, days_ago in enumerate(data["calibrated_days_ago"], start=1):
        calibration_record(
            by=by,
            instrument=instrument,
            calibrated_on=(on := firm.today - timedelta(days=days_ago)),
            certificate_number=f"LWM-{instrument.serial_number}-{number}",
            calibrated_by=LABORATORY,
            recorded_at=min(now, datetime.combine(on, time(17), tzinfo=UTC) + ON_ITS_WAY_BACK),
        )
    return instrument
