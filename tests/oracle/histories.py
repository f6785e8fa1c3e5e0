"""Whole lives of an appliance, drawn at random: additions, repairs and tests, mothballing, plans, seasons, charges.

A life is a chain of episodes with gaps between them; gaps and masses favour the edges of periods and thresholds.
"""

from datetime import date, timedelta
from decimal import Decimal
from typing import Any

from hypothesis import strategies as st

Json = dict[str, Any]

REFRIGERANTS = ("R-22", "R-402A", "R-401A", "R-410A", "R-404A", "R-12", "R-744")
CATEGORIES = (
    "comfort_cooling",
    "commercial_refrigeration",
    "industrial_process_refrigeration",
    "refrigerated_transport",
    "other",
)
FEDERAL_GROUNDS = ("parts", "parts", "radiological", "other_regulation")
CALIFORNIAN_GROUNDS = (
    "california_parts",
    "california_technician",
    "california_shutdown",
    "california_reporting_process",
)
CHARGES_LB = (1, 2, 14, 15, 49, 50, 51, 60, 100, 120, 199, 200, 499, 500, 1999, 2000)
GAPS = st.one_of(
    st.sampled_from([0, 0, 1, 2, 9, 10, 11, 29, 30, 31, 119, 120, 121, 364, 365, 366]), st.integers(0, 200)
)
SHORT_GAPS = st.one_of(st.sampled_from([0, 0, 1, 5, 9, 10, 11]), st.integers(0, 40))


class Life:
    """One life under construction: the day it has come to and the facts so far."""

    def __init__(self, draw, start: date, full_charge_lb: int) -> None:
        self.draw, self.day, self.full_charge_lb = draw, start, full_charge_lb
        self.facts: list[Json] = []
        self.events = 0

    def wait(self, gaps=GAPS) -> None:
        self.day += timedelta(days=self.draw(gaps))

    def note(self, kind: str, **detail: Any) -> None:
        self.facts.append({"on": self.day.isoformat(), "kind": kind, **detail})

    def maybe(self) -> bool:
        return self.draw(st.booleans())

    def new_event(self) -> str:
        self.events += 1
        return f"E{self.events}"

    def mass(self, most_pct: int = 40) -> Json:
        """A mass by weight or as a round part of the charge, in a unit at random."""
        if self.draw(st.integers(0, 2)) == 0:
            return {"value": self.draw(st.integers(1, 30_000_000)) / Decimal(1000), "unit": "g"}
        pct = self.draw(st.one_of(st.sampled_from([1, 5, 10, 20, 30]), st.integers(1, most_pct)))
        pounds = Decimal(self.full_charge_lb) * pct / 100
        unit = self.draw(st.sampled_from(["lb", "oz", "lb and oz"]))
        if unit == "lb":
            return {"value": pounds, "unit": "lb"}
        if unit == "oz":
            return {"value": pounds * 16, "unit": "oz"}
        return {"lb": int(pounds), "oz": (pounds - int(pounds)) * 16}


def addition(life: Life) -> None:
    """Service: alone, in an event, for a named leak, with a recovery netted or a purge left out."""
    detail: Json = {}
    shape = life.draw(
        st.sampled_from(["bare", "bare", "event", "leak", "net", "purge", "two in one", "two on one day"])
    )
    if shape in {"event", "net", "two in one", "two on one day"}:
        detail["event"] = life.new_event()
    if shape == "leak" or (shape in {"event", "net"} and life.maybe()):
        detail["leak"] = life.draw(st.sampled_from(["flare", "valve stem"]))
    mass = life.mass(130 if life.draw(st.integers(0, 9)) == 0 else 40)
    if shape == "net":
        life.note("removal", mass=life.mass(), event=detail["event"])
    if shape == "purge":
        purged = {"value": life.draw(st.integers(1, 40)) / Decimal(1000), "unit": "lb"}
        life.note("addition", mass=_lb(life), purged_and_destroyed=purged, **detail)
        return
    life.note("addition", mass=mass, **detail)
    if shape == "two in one":
        life.note("addition", mass=life.mass(), **detail)
    if shape == "two on one day":
        life.note("addition", mass=life.mass(), event=life.new_event())


def repair_and_tests(life: Life) -> None:
    """Repairs and tests that pass, fail or are left off part of the way."""
    evacuated = life.draw(st.integers(0, 3)) == 0
    life.note("repair", evacuated=True) if evacuated else life.note("repair")
    if life.draw(st.integers(0, 4)) == 0:
        return
    while life.draw(st.integers(0, 3)) == 0:
        life.wait(SHORT_GAPS)
        life.note("initial_verification_test", passed=False)
        life.wait(SHORT_GAPS)
        life.note("repair", evacuated=True) if evacuated else life.note("repair")
    life.wait(SHORT_GAPS)
    life.note("initial_verification_test", passed=True)
    if evacuated and life.draw(st.integers(0, 4)):
        life.wait(SHORT_GAPS)
        life.note("normal_operation")
    if life.draw(st.integers(0, 4)) == 0:
        return
    life.wait(SHORT_GAPS)
    outcome = life.draw(st.sampled_from(["all", "all", "all", "some", "none"]))
    if outcome == "all":
        life.note("follow_up_verification_test", passed=True)
    elif outcome == "some":
        life.note("follow_up_verification_test", passed=True, all_leaks=False)
    else:
        life.note("follow_up_verification_test", passed=False)


def exceedance(life: Life) -> None:
    """Half the charge at once: over every threshold, whatever went before."""
    life.note(
        "addition", mass={"value": Decimal(life.full_charge_lb) / 2, "unit": "lb"}, event=life.new_event()
    )
    if life.draw(st.integers(0, 3)) == 0:
        life.note("industrial_process_shutdown_required")
    if life.draw(st.integers(0, 3)) == 0:
        life.wait(SHORT_GAPS)
        extension(life)


def exceedance_and_repair(life: Life) -> None:
    exceedance(life)
    life.wait(SHORT_GAPS)
    repair_and_tests(life)


def mothballing(life: Life) -> None:
    life.note("mothballed")
    life.wait()
    if life.maybe():
        life.note("returned_to_service")
    if life.draw(st.integers(0, 4)):
        addition(life)


def exceedance_and_mothballing(life: Life) -> None:
    """Mothballed while a clock runs: before the repair, before a test, or under a plan."""
    exceedance(life)
    life.wait(SHORT_GAPS)
    stage = life.draw(st.sampled_from(["owed", "owed", "repaired", "tested", "elected", "planned"]))
    if stage in {"repaired", "tested"}:
        life.note("repair")
    if stage == "tested":
        life.note("initial_verification_test", passed=True)
    if stage in {"elected", "planned"}:
        life.note("retrofit_or_retirement_elected")
    if stage == "planned":
        life.note("retrofit_or_retirement_plan")
    life.wait(SHORT_GAPS)
    mothballing(life)


def extension(life: Life) -> None:
    basis = life.draw(st.sampled_from([*FEDERAL_GROUNDS, *CALIFORNIAN_GROUNDS]))
    detail: Json = {"obligation": "repair", "basis": basis}
    if basis in CALIFORNIAN_GROUNDS:
        life.note("extension", **detail)
        return
    later = (life.day + timedelta(days=life.draw(st.integers(31, 300)))).isoformat()
    if basis != "parts":
        detail["until"] = later
    elif life.maybe():
        detail["delivered_on"] = later
    life.note("extension", **detail)


def retrofit_or_retirement(life: Life) -> None:
    """Elected or not, planned in time or late, finished or not."""
    if life.maybe():
        life.note("retrofit_or_retirement_elected")
        life.wait(SHORT_GAPS)
    if life.draw(st.integers(0, 5)) == 0:
        return
    life.note("retrofit_or_retirement_plan")
    if life.maybe():
        life.wait()
        life.note(
            "retrofitted", refrigerant=life.draw(st.sampled_from(["R-410A", "R-454B"])), full_charge=_lb(life)
        )
        life.note("addition", mass=_lb(life), reason="retrofit", event=life.new_event())


def season(life: Life) -> None:
    life.note("removal", mass=life.mass(), reason="seasonal_variance", event=life.new_event())
    life.wait()
    life.note("addition", mass=life.mass(), reason="seasonal_variance", event=life.new_event())


def charge_change(life: Life) -> None:
    factor = life.draw(st.sampled_from([80, 95, 105, 130]))
    charge = {"value": Decimal(life.full_charge_lb) * factor / 100, "unit": "lb"}
    life.note("full_charge_change", full_charge=charge, method="measurement")


def inspection(life: Life) -> None:
    life.note("leak_inspection", leaks_found=life.maybe())


def installation(life: Life) -> None:
    life.note("addition", mass=_lb(life), reason="installation", event=life.new_event())


def report(life: Life) -> None:
    kind = life.draw(st.sampled_from(["chronic_leak_report_filed", "annual_report_filed"]))
    life.note(kind, year=life.day.year - 1)


def detection(life: Life) -> None:
    """Automatic leak detection, and perhaps its calibrations about a year apart."""
    life.note("automatic_leak_detection", type=life.draw(st.sampled_from(["direct", "indirect"])))
    for _ in range(life.draw(st.integers(0, 3))):
        life.wait(st.sampled_from([300, 364, 365, 366, 400]))
        life.note("leak_detection_calibration")


def named_leak(life: Life) -> None:
    """A leak found by name, repaired by name and tested by name, while another one may be open."""
    names = life.draw(st.sampled_from([["flare"], ["flare", "valve stem"], ["valve stem", "flare"]]))
    half = {"value": Decimal(life.full_charge_lb) / 2, "unit": "lb"}
    life.note("addition", mass=half, leak=names[0], event=life.new_event())
    for name in names:
        life.wait(SHORT_GAPS)
        life.note("repair", leak=name)
    for kind in ("initial_verification_test", "follow_up_verification_test"):
        for name in names:
            life.wait(st.sampled_from([0, 0, 1, 5]))
            life.note(kind, leak=name, passed=life.draw(st.integers(0, 5)) > 0)


def late_shutdown(life: Life) -> None:
    """An extension first, and then that the process has to be shut down."""
    exceedance(life)
    life.wait(SHORT_GAPS)
    extension(life)
    life.wait(SHORT_GAPS)
    life.note("industrial_process_shutdown_required")
    if life.maybe():
        life.wait(SHORT_GAPS)
        repair_and_tests(life)


def answered_extension(life: Life) -> None:
    """One extension or two, work before the agency's answer or none, and perhaps a second answer."""
    exceedance(life)
    for _ in range(life.draw(st.integers(1, 2))):
        life.wait(SHORT_GAPS)
        extension(life)
    if life.maybe():
        life.wait(SHORT_GAPS)
        life.note("repair")
    for _ in range(life.draw(st.integers(1, 2))):
        life.wait(SHORT_GAPS)
        life.note("agency_answer", granted=life.draw(st.integers(0, 2)) == 0)
    if life.maybe():
        life.wait(SHORT_GAPS)
        repair_and_tests(life)


def relief_or_more_time(life: Life) -> None:
    """A plan, a request about it, and perhaps an answer."""
    exceedance(life)
    life.wait(SHORT_GAPS)
    life.note("retrofit_or_retirement_plan")
    life.wait(st.sampled_from([0, 1, 100, 179, 180, 181, 190, 220]))
    if life.maybe():
        life.note("relief_requested")
    else:
        until = (life.day + timedelta(days=life.draw(st.integers(200, 900)))).isoformat()
        basis = life.draw(st.sampled_from(["custom_built", "exempt_substitute", "federally_owned", "parts"]))
        life.note("plan_extension", until=until, basis=basis)
    life.wait(st.sampled_from([0, 10, 59, 60, 61, 200]))
    if life.maybe():
        life.note("agency_answer", granted=life.maybe())
    if life.maybe():
        life.wait()
        life.note("repair")


def band_crossing(life: Life) -> None:
    """A full charge that comes to stand on the other side of 15, 50, 200, 500 or 2,000 lb."""
    pounds = life.draw(st.sampled_from([14, 15, 49, 50, 51, 199, 200, 499, 500, 1999, 2000]))
    life.full_charge_lb = pounds
    life.note("full_charge_change", full_charge=_lb(life), method="measurement")


def chronic_leak(life: Life) -> None:
    """More than the charge and a quarter in one addition, and perhaps its report."""
    life.note(
        "addition",
        mass={"value": Decimal(life.full_charge_lb) * 13 / 10, "unit": "lb"},
        event=life.new_event(),
    )
    year = life.day.year
    life.wait()
    if life.maybe():
        life.note("chronic_leak_report_filed", year=year)


def _lb(life: Life) -> Json:
    return {"value": life.full_charge_lb, "unit": "lb"}


FURTHER_EPISODES = (
    *[detection] * 3,
    *[named_leak] * 3,
    *[relief_or_more_time] * 3,
    *[late_shutdown] * 2,
    *[answered_extension] * 2,
    band_crossing,
)
EPISODES = (
    *[addition] * 5,
    *[exceedance_and_repair] * 5,
    exceedance,
    repair_and_tests,
    *[exceedance_and_mothballing] * 2,
    mothballing,
    chronic_leak,
    *[retrofit_or_retirement] * 2,
    *[season] * 2,
    charge_change,
    *[inspection] * 3,
    report,
)
# From the present form of 82.157, across the first day of 84.106 and a leap year or two.
STARTS = st.one_of(
    st.dates(date(2021, 1, 1), date(2031, 12, 31)),
    st.sampled_from([date(2024, 2, 28), date(2024, 2, 29), date(2028, 2, 29), date(2027, 2, 28)]),
)
RULE_SETS = (
    ["us-federal"],
    ["us-federal", "us-california"],
    ["eu"],
    ["uk"],
    ["us-federal", "us-california", "eu", "uk"],
)


@st.composite
def requests(draw, *, starts=STARTS, episodes=EPISODES, rule_sets=RULE_SETS[:1]) -> Json:
    """An `assess` request for a whole life, under both federal rules unless told otherwise."""
    start = draw(starts)
    full_charge_lb = draw(st.sampled_from(CHARGES_LB))
    installed_on = draw(
        st.one_of(st.none(), st.integers(0, 800).map(lambda days: start - timedelta(days=days)))
    )
    life = Life(draw, start, full_charge_lb)
    if draw(st.integers(0, 3)) == 0:
        installation(life)
    for tell in draw(st.lists(st.sampled_from(episodes), min_size=1, max_size=9)):
        life.wait()
        tell(life)
    if draw(st.integers(0, 9)) == 0:
        life.wait()
        life.note("retired")
    life.wait()
    as_of = life.day
    if draw(st.integers(0, 2)) == 0:
        # Asked in the middle of a life: on the day of a fact, or some days after it.
        fact = draw(st.sampled_from(life.facts)) if life.facts else {"on": start.isoformat()}
        as_of = date.fromisoformat(fact["on"]) + timedelta(days=draw(SHORT_GAPS))
    return {
        "as_of": as_of.isoformat(),
        "rules": draw(st.sampled_from(rule_sets)),
        "appliance": {
            "category": draw(st.sampled_from(CATEGORIES)),
            "residential_or_light_commercial": draw(st.integers(0, 9)) == 0,
            "refrigerant": draw(st.sampled_from(REFRIGERANTS)),
            "full_charge": {"value": full_charge_lb, "unit": "lb"},
            "hermetically_sealed": draw(st.integers(0, 4)) == 0,
            "enclosed": draw(st.booleans()),
            "installed_on": installed_on.isoformat() if installed_on else None,
            "leak_rate_method": draw(st.sampled_from(["annualizing", "rolling_average"])),
        },
        "facts": life.facts,
    }
