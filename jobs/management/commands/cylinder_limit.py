"""``manage.py cylinder_limit``: how much a recovery cylinder may hold, as JSON. No database is touched."""

import re
from argparse import ArgumentParser
from collections.abc import Mapping
from fractions import Fraction
from typing import Any

from compliance.rulebook import errors as rulebook_errors
from compliance.rulebook import refrigerants
from compliance.rulebook.grounds import from_memory_in_words
from compliance.rulebook.masses import MAX_MASS_MG, mass_answer, parse_mass_mg, parse_pounds_ounces_mg
from jobs.management.json_command import JsonCommand
from jobs.physics.errors import InvalidInput
from jobs.physics.fill_limits import FillLimit, mixed_max_net_mg, water_mass_mg
from jobs.physics.quantities import split_quantity

_POUNDS_OUNCES = re.compile(r"(\d+)\s*lb\s+(\d+\.?\d*)\s*oz", re.ASCII | re.IGNORECASE)
_LITRES = re.compile(r"(\d+\.?\d*|\.\d+)\s*[lL]", re.ASCII)
_MASS = 'a mass with its unit, kg, g, lb or oz, such as "28 lb" or "28 lb 4 oz"'
_CAPACITY = 'a water capacity above zero with its unit, kg, g, lb, oz or L, such as "47.7 lb"'


class Command(JsonCommand):
    help = "Says how much refrigerant a cylinder may hold, and how much room is left in it (JSON)."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "--refrigerant", action="append", default=[], help="R-410A; several for a mixed cylinder"
        )
        parser.add_argument("--water-capacity", help='as stamped: "47.7 lb"; also kg and L')
        parser.add_argument("--tare", help='the empty cylinder: "28 lb"')
        parser.add_argument("--gross", help='the cylinder as it is weighed now: "51 lb"')

    def answer(self, options: Mapping[str, Any]) -> Mapping[str, Any]:
        designations = [refrigerants.find(name).designation for name in options["refrigerant"]]
        if not designations:
            raise InvalidInput("refrigerant", None, "at least one refrigerant, such as R-410A")
        water_capacity_mg = _water_capacity_mg(options["water_capacity"])
        tare_mg, gross_mg = _optional_mass_mg(options, "tare"), _optional_mass_mg(options, "gross")
        if gross_mg is not None and tare_mg is None:
            raise InvalidInput("tare", None, "the cylinder's tare, since a gross weight is given")
        if gross_mg is not None and tare_mg is not None and gross_mg < tare_mg:
            raise InvalidInput("gross", options["gross"], f"at least the tare, {options['tare']}")
        limit = mixed_max_net_mg(designations, water_capacity_mg)
        return _answer(designations, limit, tare_mg, gross_mg)


def _answer(
    designations: list[str], limit: FillLimit, tare_mg: int | None, gross_mg: int | None
) -> dict[str, Any]:
    answer: dict[str, Any] = {
        "refrigerants": list(dict.fromkeys(designations)),
        "max_net": mass_answer(limit.max_net_mg),
        "governed_by": limit.governed_by,
    }
    warnings = []
    if limit.is_estimated:
        warnings.append("The liquid density is estimated; the limit was lowered for it.")
    warnings += from_memory_in_words(limit.doubts)
    if tare_mg is not None:
        answer["max_gross"] = mass_answer(limit.max_net_mg + tare_mg)
    if tare_mg is not None and gross_mg is not None:
        net_mg = gross_mg - tare_mg
        answer["net_now"] = mass_answer(net_mg)
        answer["room_left"] = mass_answer(max(limit.max_net_mg - net_mg, 0))
        if net_mg > limit.max_net_mg:
            answer["over_full_by"] = mass_answer(net_mg - limit.max_net_mg)
            warnings.append(
                "The cylinder is over-full and may burst when it warms: keep it cool, don't move it, and have someone "
                "who is licensed for it take out the excess."
            )
    answer["liquid_full_at_c"] = limit.liquid_full_at_c
    answer["is_estimated"] = limit.is_estimated
    answer["because"] = limit.because
    answer["model"] = limit.model
    answer["accuracy"] = limit.accuracy
    answer["caution"] = limit.caution
    answer["warnings"] = warnings
    return answer


def _water_capacity_mg(text: str | None) -> int:
    litres = _LITRES.fullmatch(text.strip()) if text is not None else None
    mass_mg = water_mass_mg(Fraction(litres[1])) if litres else _mass_mg(text, "water_capacity", _CAPACITY)
    if not 0 < mass_mg <= MAX_MASS_MG:
        raise InvalidInput("water_capacity", text, _CAPACITY)
    return mass_mg


def _optional_mass_mg(options: Mapping[str, Any], field: str) -> int | None:
    return None if options[field] is None else _mass_mg(options[field], field, _MASS)


def _mass_mg(text: str | None, field: str, expected: str) -> int:
    if text is not None and (both := _POUNDS_OUNCES.fullmatch(text.strip())):
        return parse_pounds_ounces_mg(both[1], both[2], field=field)
    number, unit = split_quantity(text, field, expected)
    try:
        return parse_mass_mg(number, unit, field=field)
    except rulebook_errors.InvalidInput as error:
        # One option holds number and unit, so it is named whole.
        raise InvalidInput(field, text, expected) from error
