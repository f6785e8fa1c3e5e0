"""The ledger's accounts: opened when an appliance or cylinder is registered, or a firm first named."""

from jobs.models import Appliance, Cylinder, Holder, HolderKind


def appliance_holder(appliance: Appliance) -> Holder:
    """Open the appliance's account."""
    return Holder.objects.create(kind=HolderKind.APPLIANCE, appliance=appliance)


def cylinder_holder(cylinder: Cylinder) -> Holder:
    """Open the cylinder's account."""
    return Holder.objects.create(kind=HolderKind.CYLINDER, cylinder=cylinder)


def external_holder(kind: HolderKind, name: str = "") -> Holder:
    """Find or open the account of someone outside the firm, by kind and name."""
    holder, _ = Holder.objects.get_or_create(kind=kind, name=name.strip(), appliance=None, cylinder=None)
    return holder
