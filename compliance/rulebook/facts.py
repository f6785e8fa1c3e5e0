"""What happened to one appliance, as plain frozen records: the input of every rule."""

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from compliance.rulebook.refrigerants import Refrigerant


class Category(StrEnum):
    """What the appliance is used for, in the words of 40 CFR 82.152 and 84.102."""

    COMFORT_COOLING = "comfort_cooling"
    COMMERCIAL_REFRIGERATION = "commercial_refrigeration"
    INDUSTRIAL_PROCESS_REFRIGERATION = "industrial_process_refrigeration"
    REFRIGERATED_TRANSPORT = "refrigerated_transport"
    OTHER = "other"

    @property
    def in_words(self) -> str:
        return "other appliances" if self is Category.OTHER else self.value.replace("_", " ")


class LeakRateMethod(StrEnum):
    """The two ways of calculating a leak rate (40 CFR 82.152, *Leak rate*)."""

    ANNUALIZING = "annualizing"
    ROLLING_AVERAGE = "rolling_average"

    @property
    def in_words(self) -> str:
        return f"{self.value.replace('_', ' ')} method"


class FactKind(StrEnum):
    """Every kind of fact the rules read."""

    ADDITION = "addition"
    REMOVAL = "removal"
    LEAK_INSPECTION = "leak_inspection"
    REPAIR = "repair"
    INITIAL_VERIFICATION_TEST = "initial_verification_test"
    NORMAL_OPERATION = "normal_operation"
    FOLLOW_UP_VERIFICATION_TEST = "follow_up_verification_test"
    INDUSTRIAL_PROCESS_SHUTDOWN_REQUIRED = "industrial_process_shutdown_required"
    MOTHBALLED = "mothballed"
    RETURNED_TO_SERVICE = "returned_to_service"
    FULL_CHARGE_CHANGE = "full_charge_change"
    EXTENSION = "extension"
    RETROFIT_OR_RETIREMENT_ELECTED = "retrofit_or_retirement_elected"
    RETROFIT_OR_RETIREMENT_PLAN = "retrofit_or_retirement_plan"
    RETROFITTED = "retrofitted"
    RETIRED = "retired"
    RELIEF_REQUESTED = "relief_requested"
    PLAN_EXTENSION = "plan_extension"
    AGENCY_ANSWER = "agency_answer"
    AUTOMATIC_LEAK_DETECTION = "automatic_leak_detection"
    LEAK_DETECTION_CALIBRATION = "leak_detection_calibration"
    CHRONIC_LEAK_REPORT_FILED = "chronic_leak_report_filed"
    ANNUAL_REPORT_FILED = "annual_report_filed"
    LEAK_RATE_METHOD_CHANGE = "leak_rate_method_change"


ADDITION_REASONS = ("service", "installation", "retrofit", "seasonal_variance")
REMOVAL_REASONS = ("service", "seasonal_variance", "disposal")
FEDERAL_EXTENSION_BASES = ("parts", "radiological", "other_regulation")
# The grounds of 17 CCR 95386; parts for which the federal agency was asked for more time are one of its grounds too.
CALIFORNIA_PARTS, CALIFORNIA_TECHNICIAN = "california_parts", "california_technician"
CALIFORNIA_SHUTDOWN, CALIFORNIA_REPORTING_PROCESS = "california_shutdown", "california_reporting_process"
CALIFORNIA_EXTENSION_BASES = (
    CALIFORNIA_PARTS,
    CALIFORNIA_TECHNICIAN,
    CALIFORNIA_SHUTDOWN,
    CALIFORNIA_REPORTING_PROCESS,
)
EXTENSION_BASES = (*FEDERAL_EXTENSION_BASES, *CALIFORNIA_EXTENSION_BASES)
EXTENDABLE_OBLIGATIONS = ("repair", "initial_verification_test", "follow_up_verification_test")
DETECTION_TYPES = ("direct", "indirect")


@dataclass(frozen=True)
class Appliance:
    """One refrigerant circuit as it was before its first fact (each independent circuit is an appliance, 82.152).

    ``refrigerant`` is a ``Refrigerant``, found with ``refrigerants.find``; ``full_charge_mg`` is above zero.
    ``is_residential_or_light_commercial`` is a person's decision that the appliance belongs to the residential and
    light commercial air conditioning and heat pump subsector (84.106(a)(3)(ii)); nothing here derives it.
    """

    category: Category
    refrigerant: Refrigerant
    full_charge_mg: int
    leak_rate_method: LeakRateMethod
    installed_on: date | None
    is_residential_or_light_commercial: bool = False
    is_hermetically_sealed: bool = False
    is_enclosed: bool = False


@dataclass(frozen=True)
class Fact:
    """One thing that happened on one site day. Which fields count depends on ``kind``; the rest keep their default.

    ``event`` names the service event that did it; ``leak`` the leak it concerns; ``mass_mg`` is the gross mass of an
    addition or removal, of which ``purged_and_destroyed_mg`` doesn't count; ``method`` how a full charge was
    determined, or the leak rate method from the fact on.
    """

    on: date
    kind: FactKind
    mass_mg: int | None = None
    reason: str = "service"
    event: str | None = None
    leak: str | None = None
    purged_and_destroyed_mg: int = 0
    is_evacuated: bool = False
    passed: bool | None = None
    all_leaks: bool = True
    leaks_found: int | None = None
    full_charge_mg: int | None = None
    method: str | None = None
    obligation: str | None = None
    basis: str | None = None
    delivered_on: date | None = None
    until: date | None = None
    refrigerant: Refrigerant | None = None
    granted: bool | None = None
    detection_type: str | None = None
    year: int | None = None

    @property
    def basis_in_words(self) -> str:
        """The ground of a request as a sentence says it; empty without one."""
        return (self.basis or "").replace("_", " ")
