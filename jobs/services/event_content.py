"""What makes two submissions the same visit: a hash of all that was typed but how it was sent and signed."""

import hashlib
from typing import Any

from jobs.models import Cylinder, Instrument, RecoveryMachine, Technician
from jobs.services.chain import canonical_json
from jobs.services.submission import EventSubmission, LeakRef, StatementEntry


def content_sha256(submission: EventSubmission) -> str:
    """Hash what a submission says; the same visit typed again gives the same hash, signed anew or not."""
    content = {
        "appliance": submission.appliance.pk,
        "happened_on": submission.happened_on.isoformat(),
        "origin": submission.origin,
        "contractor": submission.contractor_name.strip(),
        "people": [_key(submission.technician), _key(submission.supervisor)],
        "work": [sorted(submission.work_kinds), submission.work_done.strip()],
        "circuit": [submission.is_circuit_opened, _vacuum(submission)],
        "transfers": [
            [
                row.direction,
                _key(row.cylinder),
                row.mass.mass_mg,
                row.reason,
                _leak(row.leak),
                row.refrigerant,
            ]
            for row in submission.transfers
        ],
        "inspection": vars(submission.inspection) if submission.inspection else None,
        "leaks": [
            [row.reference, row.part.strip(), row.location.strip(), _leak(row.leak)]
            for row in submission.leaks_found
        ],
        "repairs": [[_leak(row.leak), row.work_done.strip(), row.is_evacuated] for row in submission.repairs],
        "tests": [[_leak(row.leak), row.kind, row.method.strip(), row.is_passed] for row in submission.tests],
        "statements": [[row.kind, _details(row)] for row in submission.statements],
        "owner": [
            submission.owner_told_on.isoformat() if submission.owner_told_on else None,
            submission.owner_told_name.strip(),
            submission.owner_decision,
        ],
        "signed_by": submission.signature_name.strip(),
        **_opening(submission),
    }
    return hashlib.sha256(canonical_json(content)).hexdigest()


def _opening(submission: EventSubmission) -> dict[str, Any]:
    """How the circuit was opened and with what; left out where nothing is said, as forms once had no place for it."""
    said = {
        "opening": [submission.opening_kind, submission.opening_note.strip()],
        "compressor": submission.is_compressor_running,
        "instruments": [_key(submission.recovery_machine), _key(submission.gauge)],
        "scales": [_key(row.scale) for row in submission.transfers],
        "recycled": [place for place, row in enumerate(submission.transfers) if row.is_recycled],
    }
    return {name: value for name, value in said.items() if _tells(value)}


def _tells(value: Any) -> bool:
    return any(part not in (None, "") for part in (value if isinstance(value, list) else [value]))


def _key(row: Technician | Cylinder | Instrument | RecoveryMachine | None) -> int | None:
    return row.pk if row else None


def _leak(leak: LeakRef | None) -> int | str | None:
    return leak if leak is None or isinstance(leak, str) else leak.pk


def _vacuum(submission: EventSubmission) -> list[str] | None:
    vacuum = submission.final_vacuum
    return None if vacuum is None else [f"{vacuum.normalize():f}", submission.final_vacuum_unit]


def _details(row: StatementEntry) -> dict[str, Any]:
    return {key: str(value) for key, value in row.details.items()}
