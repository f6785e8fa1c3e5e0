"""What the law of the sites that a cylinder served asks before the cylinder is disposed of."""

import datetime

from compliance.rulebook.errors import InvalidInput as UnknownRefrigerant
from compliance.rulebook.recovered_refrigerant import container_disposal
from compliance.rulebook.refrigerants import find
from compliance.rulebook.tables import Row
from jobs.models import Cylinder, CylinderMove, HeelRemoval
from jobs.selectors.cylinder_state import cylinder_movements


def container_disposal_row(cylinder: Cylinder, *, on: datetime.date) -> Row | None:
    """The paragraph by which its residual gas is recovered before it is disposed of; None where none asks for it.

    The law of a site counts where the cylinder stood there or gave or took refrigerant there.

    Source: Regulation (EU) 2024/573 Art. 8(7).
    """
    names, rules = {cylinder.refrigerant}, set(_stood_at(cylinder))
    for transfer in cylinder_movements(cylinder):
        names.add(transfer.refrigerant)
        ends = (transfer.from_holder.appliance, transfer.to_holder.appliance)
        rules |= {appliance.site.jurisdiction for appliance in ends if appliance}
    found = (_asked(rule, name, on) for rule in sorted(rules) for name in sorted(names))
    return next((row for row in found if row), None)


def is_heel_removed(cylinder: Cylinder, *, on: datetime.date) -> bool:
    """Whether a record says, by a day, that the remainder was taken out of a disposable cylinder."""
    return HeelRemoval.objects.filter(cylinder=cylinder, happened_on__lte=on).exists()


def _stood_at(cylinder: Cylinder) -> list[str]:
    moves = CylinderMove.objects.filter(cylinder=cylinder, withdrawal=None, site__isnull=False)
    return list(moves.values_list("site__jurisdiction", flat=True))


def _asked(rule: str, designation: str, on: datetime.date) -> Row | None:
    try:
        return container_disposal(rule, find(designation), on=on)
    except UnknownRefrigerant:
        return None
