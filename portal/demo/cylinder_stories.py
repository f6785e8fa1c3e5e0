"""The demo's cylinders with a life worth reading: moved, weighed, shipped, sold, past due, mixed, a heel removed."""

from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal
from typing import Any

from jobs.models import Cylinder, CylinderWeighing, Instrument, InstrumentKind
from jobs.selectors.ledger import cylinder_contents
from jobs.services.cylinder_conditions import contamination_record, requalification_period_record
from jobs.services.cylinder_moves import MoveEntry, cylinder_move_record
from jobs.services.cylinder_weighings import cylinder_weighing_record
from jobs.services.cylinders import cylinder_register
from jobs.services.entries import CylinderEntry, EnteredMass
from jobs.services.heel_removals import HeelEntry, heel_removal_record
from jobs.services.receipt_differences import receipt_difference_post
from jobs.services.requalification_tests import RequalificationEntry, requalification_test_record
from jobs.services.shipment_receipts import shipment_receipt_record
from jobs.services.stock import purchase_record, shipment_record
from jobs.services.stock_adjustments import stock_adjust
from jobs.services.stock_sales import BuyerEntry, sale_record
from jobs.services.withdrawals import withdrawal_record
from portal.accounts.models import Role, User
from portal.demo.firm import Firm
from portal.demo.registers import Registers
from portal.demo.stock import RECLAIMER, SUPPLIER, tenths_of_pounds

BUYER = BuyerEntry(
    name="Quarry Lane Cooling",
    basis="employer",
    technician_name="Ada Quill",
    certification_type="universal",
    certification_number="U-277120",
    proof="Letter of the employer and copy of the certificate, binder 3.",
)
REQUALIFIER = "Ironbridge Cylinder Testing"
#: So many of the cylinders that hold something were weighed this week.
WEIGHED = 6


class CylinderStories:
    """Tells each story through the services that the pages use."""

    def __init__(self, firm: Firm, registers: Registers, now: datetime) -> None:
        self._firm = firm
        self._registers = registers
        self._now = now
        self._office: User = registers.user(Role.OFFICE_ADMIN)
        self._technician: User = registers.user(Role.TECHNICIAN)
        self._holder = registers.technicians["Tobias Oduya"]
        self._scale = Instrument.objects.filter(kind=InstrumentKind.SCALE, is_in_use=True).first()

    def tell(self) -> None:
        """Tell all of them."""
        self._sold()
        self._sold_whole()
        self._shipped()
        self._past_due()
        self._mixed()
        self._heel()
        self._other_period()
        self._requalified()
        self._condemned()
        for number, cylinder in enumerate(self._holding(self._registers.cylinders)):
            self._weigh(cylinder, days_ago=number % 2)

    def _sold(self) -> None:
        cylinder = self._register("FO-7003", "R-134a", kind="refillable", made_days_ago=700)
        bought = {"supplier_name": RECLAIMER, "supply_status": "reclaimed", "document_number": "INV-R-118"}
        purchase_record(
            by=self._office,
            cylinder=cylinder,
            refrigerant="R-134a",
            mass=_lb("60"),
            **bought,
            **self._filed(40),
        )
        self._to_van(cylinder, 30)
        weighing = self._weigh(cylinder, days_ago=20, less="0.6")
        stock_adjust(
            by=self._registers.user(Role.COMPLIANCE_OFFICER),
            weighing=weighing,
            reason="Hose contents recovered with the machine at the shop.",
            filed_at=self._filed(19)["filed_at"],
        )
        mistyped = self._weigh(cylinder, days_ago=13, less="10")
        withdrawal_record(
            by=self._office,
            record=mistyped,
            reason="A digit was mistyped; weighed again.",
            **self._filed(12),
        )
        self._move(cylinder, 12, place="shop")
        sold = {"buyer": BUYER, "mass": _lb("20"), "document_number": "S-0041"}
        sale_record(by=self._office, cylinder=cylinder, **sold, **self._filed(10))

    def _sold_whole(self) -> None:
        cylinder = self._register("FO-7005", "R-134a", kind="refillable", made_days_ago=600)
        bought = {"supplier_name": SUPPLIER, "document_number": "INV-0911", "mass": _lb("50")}
        purchase_record(by=self._office, cylinder=cylinder, refrigerant="R-134a", **bought, **self._filed(33))
        sold = {"buyer": BUYER, "mass": None, "document_number": "S-0044"}
        along = {"is_with_cylinder": True, "moved_by": BUYER.name}
        sale_record(by=self._office, cylinder=cylinder, **sold, **along, **self._filed(4))

    def _shipped(self) -> None:
        cylinder = self._register("FO-7008", "R-404A", made_days_ago=900, contents="30")
        sent = {
            "destination_kind": "reclaimer",
            "destination_name": RECLAIMER,
            "document_number": "SHIP-7008",
            "consignee_address": "41 Millrace Road, Alder Cove CA 95999",
            "emergency_telephone": "+1 555 010 0177, emergency desk of the firm",
            "is_with_cylinder": True,
            "moved_by": "Brightwater Freight",
        }
        shipment = shipment_record(by=self._office, cylinder=cylinder, mass=None, **sent, **self._filed(35))
        receipt = {"mass": _lb("29.4"), "document_number": "RC-5512"}
        received = shipment_receipt_record(by=self._office, shipment=shipment, **receipt, **self._filed(24))
        receipt_difference_post(
            by=self._registers.user(Role.COMPLIANCE_OFFICER),
            receipt=received,
            reason="The reclaimer weighed it after drawing off air.",
            filed_at=self._filed(23)["filed_at"],
        )
        self._move(cylinder, 21, place="shop", reason="came_back", moved_by="Brightwater Freight")

    def _past_due(self) -> None:
        self._register("FO-7014", "R-22", made_days_ago=5 * 365 + 100, contents="12.5")
        self._register("FO-7017", "R-410A", made_days_ago=5 * 365 - 20)

    def _mixed(self) -> None:
        cylinder = self._register("FO-7021", "R-410A", made_days_ago=800, contents="14")
        finding = "Pressure stood 20 psi above the table after a day in the shop; a job's label said R-22."
        contamination_record(
            by=self._technician,
            cylinder=cylinder,
            refrigerants=["R-410A", "R-22"],
            finding=finding,
            **self._filed(6),
        )

    def _heel(self) -> None:
        taker = self._register("FO-7026", "R-410A", made_days_ago=400)
        disposable = self._register("D39-70551", "R-410A", kind="disposable", contents="1.2")
        entry = HeelEntry(
            removed_by=self._holder,
            level_in_hg_vacuum=Decimal(15),
            destination_kind="final_processor",
            destination_name="Marshfield Metals",
            statement="I removed the refrigerant from this disposable cylinder before its disposal.",
            into=taker,
            mass=_lb("1.2"),
        )
        heel_removal_record(by=self._technician, cylinder=disposable, entry=entry, **self._filed(15))
        self._move(disposable, 14, place="away", firm_name="Marshfield Metals", reason="retired")

    def _other_period(self) -> None:
        cylinder = self._register("FO-7030", "R-134a", kind="refillable", made_days_ago=5 * 365 + 200)
        requalification_period_record(
            by=self._registers.user(Role.COMPLIANCE_OFFICER),
            cylinder=cylinder,
            years=10,
            reason="Coated, and filled by the supplier with new refrigerant alone.",
            **self._filed(300),
        )

    def _requalified(self) -> None:
        cylinder = self._register("FO-7033", "R-410A", made_days_ago=5 * 365 + 160)
        report = {"requalifier": REQUALIFIER, "identification_number": "H417", "document_number": "T-2206"}
        passed = RequalificationEntry("volumetric_expansion", "passed", test_pressure_psi=800, **report)
        self._move(cylinder, 70, place="away", firm_name=REQUALIFIER, reason="work")
        self._test(cylinder, passed, 58)
        self._move(cylinder, 55, place="shop", reason="came_back")

    def _condemned(self) -> None:
        cylinder = self._register("FO-7035", "R-404A", made_days_ago=5 * 365 + 30)
        seen = {"requalifier": REQUALIFIER, "identification_number": "H417", "document_number": "T-2231"}
        pit = "Pit in the lower head, deeper than its wall allows."
        self._test(cylinder, RequalificationEntry("external_visual", "condemned", reason=pit, **seen), 9)

    def _test(self, cylinder: Cylinder, entry: RequalificationEntry, days_ago: int) -> None:
        requalification_test_record(by=self._office, cylinder=cylinder, entry=entry, **self._filed(days_ago))

    @staticmethod
    def _holding(cylinders: list[Cylinder]) -> list[Cylinder]:
        return [cylinder for cylinder in cylinders if cylinder_contents(cylinder)][:WEIGHED]

    def _register(
        self,
        serial: str,
        refrigerant: str,
        *,
        kind: str = "recovery",
        made_days_ago: int = 0,
        contents: str = "",
    ) -> Cylinder:
        is_disposable = kind == "disposable"
        return cylinder_register(
            by=self._office,
            entry=CylinderEntry(
                serial_number=serial,
                kind=kind,
                specification="DOT-39" if is_disposable else "DOT-4BA400",
                water_capacity=_lb("30" if is_disposable else "123"),
                tare=_lb("6.5" if is_disposable else "61"),
                requalified_on=None if is_disposable else self._day(made_days_ago),
                refrigerant=refrigerant,
                contents=_lb(contents) if contents else None,
                contents_on=self._firm.books_began_on if contents else None,
            ),
            filed_at=self._now,
        )

    def _weigh(self, cylinder: Cylinder, *, days_ago: int, less: str = "0") -> CylinderWeighing:
        held_mg = sum(cylinder_contents(cylinder, on=self._day(days_ago)).values())
        gross = tenths_of_pounds(cylinder.tare_mg + held_mg - _lb(less).mass_mg + _lb("0.05").mass_mg)
        uncertainty = None if self._scale else _lb("0.1")
        return cylinder_weighing_record(
            by=self._technician,
            cylinder=cylinder,
            gross=gross,
            uncertainty=uncertainty,
            scale=self._scale,
            **self._filed(days_ago),
        )

    def _to_van(self, cylinder: Cylinder, days_ago: int) -> None:
        self._move(cylinder, days_ago, place="van", technician=self._holder)

    def _move(self, cylinder: Cylinder, days_ago: int, **fields: Any) -> None:
        entry = MoveEntry(**{"moved_by": self._holder.full_name, **fields})
        cylinder_move_record(by=self._technician, cylinder=cylinder, entry=entry, **self._filed(days_ago))

    def _day(self, days_ago: int) -> date:
        return self._firm.today - timedelta(days=days_ago)

    def _filed(self, days_ago: int) -> dict[str, Any]:
        """The day and the instant of a record, in the afternoon of the day or now."""
        on = self._day(days_ago)
        return {"happened_on": on, "filed_at": min(datetime.combine(on, time(20), tzinfo=UTC), self._now)}


def _lb(figure: str) -> EnteredMass:
    return EnteredMass.parse(figure, "lb")
