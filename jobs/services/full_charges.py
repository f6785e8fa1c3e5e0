"""Files how an appliance's full charge was determined, with everything that the figure rests on."""

import datetime
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from jobs.models import Appliance, FullChargeDetermination, FullChargeMethod
from jobs.physics.charge_documents import estimate_document, inputs_of_document
from jobs.physics.charge_estimate import estimate_charge
from jobs.physics.errors import InvalidInput
from jobs.services.chain import chain_extend
from jobs.services.entries import EnteredMass, local_date
from jobs.services.refusals import Refusals
from portal.accounts.models import User

FULL_CHARGE_RECORD = "40 CFR 82.157(l)(1), 84.106(l)(1)"
CALCULATED = (FullChargeMethod.CALCULATION, FullChargeMethod.COMBINATION)
BASIS_FIELDS = ("full_charge_lowest", "full_charge_highest", "charge_inputs")
# A midpoint is met to a rounded entry: half a percent of the figure.
MIDPOINT_SHARE = 200


@dataclass(frozen=True)
class FullChargeBasis:
    """What a full charge rests on besides its method and derivation.

    Attributes:
        lowest_mg: the lower end of a range or of an estimate.
        highest_mg: the upper end.
        inputs: of a calculation, with its result, as ``estimate_document`` writes it; of a range, its ends as typed.
    """

    lowest_mg: int | None = None
    highest_mg: int | None = None
    inputs: Mapping[str, Any] = field(default_factory=dict)


def basis_checked(
    appliance: Appliance, full_charge: EnteredMass, fields: Mapping[str, Any], refusals: Refusals
) -> FullChargeBasis:
    """Check what a full charge rests on, as its method asks for.

    Args:
        appliance: as it should become.
        full_charge: as typed.
        fields: ``full_charge_lowest`` and ``full_charge_highest``, both ends of an established range;
            ``charge_inputs``, what a calculation was made from.
        refusals: takes what is wrong.
    """
    if appliance.full_charge_method == FullChargeMethod.ESTABLISHED_RANGE:
        is_stated = any(fields.get(name) for name in ("full_charge_lowest", "full_charge_highest"))
        kept = None if is_stated else _kept(appliance)
        return kept or _range(full_charge, fields, refusals)
    if appliance.full_charge_method in CALCULATED:
        if fields.get("charge_inputs"):
            return _calculation(appliance, full_charge, fields["charge_inputs"], refusals)
        return _kept(appliance) or FullChargeBasis()
    return FullChargeBasis()


def basis_is_new(appliance: Appliance, fields: Mapping[str, Any]) -> bool:
    """Whether a form states another range or calculation than the newest determination, where its method has one."""
    newest = appliance.full_charge_determinations.first()
    if appliance.full_charge_method == FullChargeMethod.ESTABLISHED_RANGE:
        ends = [fields.get(name) for name in ("full_charge_lowest", "full_charge_highest")]
        stated = [end.mass_mg if end else None for end in ends]
        return any(stated) and (newest is None or stated != [newest.lowest_mg, newest.highest_mg])
    if appliance.full_charge_method in CALCULATED and fields.get("charge_inputs"):
        kept = newest.inputs if newest else {}
        return any(kept.get(name) != value for name, value in dict(fields["charge_inputs"]).items())
    return False


def determination_file(
    appliance: Appliance, basis: FullChargeBasis, *, by: User, filed_at: datetime.datetime
) -> FullChargeDetermination:
    """File the full charge that is on the register now; the caller holds a lock on the appliance."""
    determination = FullChargeDetermination.objects.create(
        appliance=appliance,
        determined_on=local_date(appliance.site, filed_at),
        method=appliance.full_charge_method,
        refrigerant=appliance.refrigerant,
        full_charge_mg=appliance.full_charge_mg,
        full_charge_entered=appliance.full_charge_entered,
        full_charge_unit=appliance.full_charge_unit,
        lowest_mg=basis.lowest_mg,
        highest_mg=basis.highest_mg,
        derivation=appliance.full_charge_note.strip(),
        inputs=dict(basis.inputs),
        filed_at=filed_at,
        filed_by=by,
    )
    chain_extend(determination, [appliance])
    return determination


def _kept(appliance: Appliance) -> FullChargeBasis | None:
    """What the same figure by the same method rested on before, where only its wording changes now."""
    newest = appliance.full_charge_determinations.first() if appliance.pk else None
    if newest is None:
        return None
    names = ("refrigerant", "full_charge_mg")
    is_same = newest.method == appliance.full_charge_method and all(
        getattr(newest, name) == getattr(appliance, name) for name in names
    )
    return FullChargeBasis(newest.lowest_mg, newest.highest_mg, newest.inputs) if is_same else None


def _range(full_charge: EnteredMass, fields: Mapping[str, Any], refusals: Refusals) -> FullChargeBasis:
    ends: dict[str, EnteredMass] = {}
    for name, meaning in (("full_charge_lowest", "lower"), ("full_charge_highest", "upper")):
        end = fields.get(name)
        if end is None or end.mass_mg <= 0:
            expected = f"Expected the {meaning} end of the range, above zero."
            refusals.add(name, str(end or ""), expected, FULL_CHARGE_RECORD)
        else:
            ends[name] = end
    if len(ends) < len(("lower", "upper")):
        return FullChargeBasis()
    lowest, highest = ends["full_charge_lowest"], ends["full_charge_highest"]
    if lowest.mass_mg >= highest.mass_mg:
        refusals.add("full_charge_highest", str(highest), f"Expected more than the lower end, {lowest}.")
    elif abs(lowest.mass_mg + highest.mass_mg - 2 * full_charge.mass_mg) * MIDPOINT_SHARE > 2 * (
        full_charge.mass_mg
    ):
        midpoint_lb = (lowest.mass_mg + highest.mass_mg) / 2 / 453_592.37
        expected = f"Expected the midpoint of the range from {lowest} to {highest}, {midpoint_lb:.2f} lb."
        refusals.add("full_charge", str(full_charge), expected, "40 CFR 82.152, 84.102")
    typed = {name: {"value": end.value, "unit": end.unit} for name, end in ends.items()}
    return FullChargeBasis(lowest.mass_mg, highest.mass_mg, typed)


def _calculation(
    appliance: Appliance, full_charge: EnteredMass, document: Any, refusals: Refusals
) -> FullChargeBasis:
    try:
        estimate = estimate_charge(inputs_of_document(document))
    except InvalidInput as problem:
        refusals.add(
            "charge_inputs", problem.value, f"Expected {problem.expected}: estimate the charge anew."
        )
        return FullChargeBasis()
    if estimate.inputs.refrigerant != appliance.refrigerant:
        expected = f"Expected {estimate.inputs.refrigerant}, for which the full charge was estimated."
        refusals.add("refrigerant", appliance.refrigerant, expected)
    if not estimate.lowest_mg <= full_charge.mass_mg <= estimate.highest_mg:
        expected = (
            f"Expected a full charge within the estimate, {estimate.lowest_mg / 453_592.37:.2f} to "
            f"{estimate.highest_mg / 453_592.37:.2f} lb, or another method."
        )
        refusals.add("full_charge", str(full_charge), expected)
    return FullChargeBasis(estimate.lowest_mg, estimate.highest_mg, estimate_document(estimate))
