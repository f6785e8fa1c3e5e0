"""All kinds of filings, in the order in which a person looks for them."""

from collections.abc import Mapping

from compliance.rulebook.filings import plan_specs, purge_specs, repair_specs, report_specs
from compliance.rulebook.filings.specs import FilingKind, FilingSpec

SPECS: Mapping[FilingKind, FilingSpec] = {
    spec.kind: spec
    for spec in (
        repair_specs.EXTENSION,
        repair_specs.SHUTDOWN_REQUIRED,
        repair_specs.MOTHBALLED,
        repair_specs.RETURNED_TO_SERVICE,
        repair_specs.SEASONAL_VARIANCE,
        purge_specs.PURGED_AND_DESTROYED,
        plan_specs.ELECTED,
        plan_specs.PLAN,
        plan_specs.RELIEF_REQUESTED,
        plan_specs.PLAN_EXTENSION,
        plan_specs.AGENCY_ANSWER,
        report_specs.CHRONIC_LEAK_REPORT_FILED,
        report_specs.ANNUAL_REPORT_FILED,
        report_specs.AUTOMATIC_LEAK_DETECTION,
        report_specs.LEAK_DETECTION_ALARM,
        report_specs.LEAK_DETECTION_CALIBRATION,
    )
}
