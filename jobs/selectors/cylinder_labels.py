"""What a cylinder's label says, and the QR code on it, which opens the cylinder's page."""

import datetime
from collections.abc import Iterable
from dataclasses import dataclass

import segno
from django.urls import reverse

from jobs.models import Cylinder
from jobs.selectors.cylinder_state import CylinderState, cylinder_state

# ASHRAE 34: classes 2L, 2 and 3 burn.
FLAMMABLE = ("2", "3")


@dataclass(frozen=True)
class CylinderLabel:
    """One label; ``address`` is what its QR code says, ``picture`` the code as a data address for a page."""

    state: CylinderState
    safety_class: str
    address: str
    picture: str

    @property
    def cylinder(self) -> Cylinder:
        """The cylinder that it is stuck on."""
        return self.state.cylinder

    @property
    def max_gross_mg(self) -> int | None:
        """What the scale may show at most; None where no limit is known, or nothing may go in."""
        return None if self.state.limit is None else self.cylinder.tare_mg + self.state.limit.max_net_mg

    @property
    def is_flammable(self) -> bool:
        """Whether its refrigerant burns (ASHRAE 34 classes 2L, 2 and 3)."""
        return self.safety_class[1:2] in FLAMMABLE


def cylinder_labels(
    cylinders: Iterable[Cylinder], *, site_url: str, today: datetime.date
) -> list[CylinderLabel]:
    """Make the labels of cylinders, in the order given.

    Args:
        cylinders: those to be labelled.
        site_url: where the portal is reached, such as https://portal.example.com.
        today: the day on which the labels are printed.
    """
    labels = []
    for cylinder in cylinders:
        address = site_url.rstrip("/") + reverse("cylinder-detail", args=[cylinder.pk])
        state = cylinder_state(cylinder, today=today)
        labels.append(
            CylinderLabel(state, _safety_class(state), address, qr_code(address).svg_data_uri(border=4))
        )
    return labels


def qr_code(address: str) -> segno.QRCode:
    """A QR code (ISO/IEC 18004) of an address; level M stays readable with a scratch across it."""
    return segno.make(address, error="m", micro=False)


def _safety_class(state: CylinderState) -> str:
    """The class of its refrigerant; of a mixture, that of a part that burns, if one does."""
    classes = [refrigerant.safety_class for refrigerant in state.cautioned]
    return next((one for one in classes if one[1:2] in FLAMMABLE), next(iter(classes), ""))
