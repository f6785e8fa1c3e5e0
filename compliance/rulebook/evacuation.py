"""How far an appliance is to be evacuated before it is opened or disposed of (40 CFR 82.156)."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from enum import StrEnum

from compliance.rulebook import policy
from compliance.rulebook.appliance_class import (
    MVAC_LIKE,
    RULE_608,
    SMALL_APPLIANCE,
    ApplianceClass,
    Circuit,
    appliance_class,
)
from compliance.rulebook.errors import InvalidInput
from compliance.rulebook.evacuation_levels import KPA_PER_INHG, Level
from compliance.rulebook.masses import format_mass
from compliance.rulebook.tables import Row, Tables, load_tables


class Opening(StrEnum):
    """Why a circuit is opened: what the levels of 82.156 and their exceptions turn on.

    Major is defined in 82.152; ``major_in_words`` says how.
    """

    MAJOR = "major"
    NOT_MAJOR = "not_major"
    OIL_CHANGE = "oil_change"
    LEAKING = "leaking"
    DISPOSAL = "disposal"


@dataclass(frozen=True)
class EvacuationRequirement:
    """What is asked for before an opening, with the paragraph and the reason.

    Attributes:
        level: the highest pressure; ``None`` where none is asked for.
        recovery_pct: of a small appliance, the share of its refrigerant that may be recovered instead.
        sound_level: where leaks keep ``level`` from being lower, the level for the parts that don't leak.
        citation: the paragraph.
        because: what brought it to bear.
        is_confirmed: false where it rests on memory or on a pressure class that the law doesn't name.
    """

    level: Level | None
    citation: str
    because: str
    is_confirmed: bool
    recovery_pct: Decimal | None = None
    sound_level: Level | None = None

    @property
    def in_words(self) -> str:
        """The requirement as a person says it; nothing where there is none."""
        if self.level is None:
            return ""
        words = self.level.in_words
        if self.recovery_pct is not None:
            return f"{self.recovery_pct} % of the refrigerant recovered, or {words}"
        return words


def major_in_words(*, on: date, tables: Tables | None = None) -> str:
    """What makes maintenance, service or repair major, as a sentence with its paragraph.

    Args:
        on: the day whose definition counts.
        tables: the dated numbers; those of fixtures/rules by default.

    Source: 40 CFR 82.152, major maintenance, service, or repair.
    """
    tables = tables or load_tables()
    area, time = (tables.row(RULE_608, key, on=on) for key in ("major_flow_area", "major_open_time"))
    return (
        "Major: the compressor, condenser, evaporator or an auxiliary coil is removed, or more than "
        f"{area.in_words} of flow area stay uncovered for more than {time.in_words} ({area.citation})."
    )


def required_evacuation(
    circuit: Circuit,
    *,
    on: date,
    opening: str = Opening.MAJOR,
    machine_made_on: date | None = None,
    is_compressor_running: bool | None = None,
    tables: Tables | None = None,
) -> EvacuationRequirement:
    """What must be reached, and verified, before an appliance or an isolated part is opened or disposed of.

    The level depends on when the recovery machine was made, not the appliance.

    Args:
        circuit: the appliance or the isolated part.
        on: the day of the opening.
        opening: one of ``Opening``.
        machine_made_on: manufacture date of the recovery machine; ``None`` counts as after the table's split, which is
            never the shallower level.
        is_compressor_running: of a small appliance, whether its compressor runs; ``None`` counts as running, which asks
            for more.
        tables: the dated numbers; those of fixtures/rules by default.

    Raises:
        InvalidInput: an unknown kind of opening, or a day before the rule.

    Source: 40 CFR 82.156(a) to (d).
    """
    tables = tables or load_tables()
    if opening not in tuple(Opening):
        raise InvalidInput("opening", opening, "one of " + ", ".join(Opening))
    first = tables.effective_from(RULE_608)
    if on < first:
        raise InvalidInput("on", on, f"a day from {first} on")
    exempt = tables.find(RULE_608, "exempt_in_any_use", on=on, category=circuit.refrigerant.designation)
    if exempt:
        because = f"{circuit.refrigerant} is exempt from the prohibition of venting in any use."
        return EvacuationRequirement(None, exempt.citation, because, exempt.is_confirmed)
    rule = _Rule(tables, on, circuit, appliance_class(circuit, on=on, tables=tables), machine_made_on)
    if rule.kind.name == SMALL_APPLIANCE:
        return rule.small_appliance(is_compressor_running=is_compressor_running)
    if rule.kind.name == MVAC_LIKE:
        return rule.mvac_like(is_disposed=opening == Opening.DISPOSAL)
    if opening == Opening.LEAKING:
        return rule.leaking()
    if opening in (Opening.NOT_MAJOR, Opening.OIL_CHANGE):
        return rule.not_major(f"evacuation_{opening}")
    return rule.table_1()


@dataclass(frozen=True)
class _Rule:
    """The tables on a day, for one circuit and one recovery machine."""

    tables: Tables
    on: date
    circuit: Circuit
    kind: ApplianceClass
    machine_made_on: date | None

    def table_1(self) -> EvacuationRequirement:
        row = self._row(
            f"evacuation_level{self._machine_suffix}",
            category=self.kind.name,
            full_charge_mg=self.circuit.full_charge_mg,
        )
        because = (
            f"{self._reason}, the charge is {format_mass(self.circuit.full_charge_mg)}, "
            f"and the recovery machine was made {self._machine_words}."
        )
        return self._answer(row, because)

    def not_major(self, key: str) -> EvacuationRequirement:
        row = self._row(key)
        act = "pressurized to no more than that" if self.kind.name == "low" else "evacuated at least to that"
        if key == "evacuation_oil_change":
            act = "evacuated or pressurized to no more than that, or its oil drained into a receiver that is"
        because = f"{self._reason}; the work is not major and no evacuation to the atmosphere follows, so it is {act}."
        return self._answer(row, because)

    def leaking(self) -> EvacuationRequirement:
        row = self._row("evacuation_leaking")
        sound = self.table_1()
        because = (
            f"Leaks make the level of table 1 unattainable or would substantially contaminate the refrigerant: isolate "
            f"the leaking parts where possible, evacuate the others to {sound.in_words}, and the leaking ones as low "
            f"as can be attained without contamination, never ending above {row.in_words}. {sound.because}"
        )
        return self._answer(row, because, sound_level=sound.level)

    def small_appliance(self, *, is_compressor_running: bool | None) -> EvacuationRequirement:
        if self._is_old_machine:
            share = self._row("small_appliance_recovery_machine_before_1993_11_15")
            state = ""
        else:
            is_running = is_compressor_running is not False
            category = "compressor_running" if is_running else "compressor_not_running"
            share = self._row("small_appliance_recovery", category=category)
            state = " and the compressor runs" if is_running else " and the compressor doesn't run"
            if is_compressor_running is None:
                state = f"; {policy.COMPRESSOR_COUNTS_AS_RUNNING}"
        because = (
            f"It is a small appliance ({self.kind.because}), and the recovery machine was made "
            f"{self._machine_words}{state}."
        )
        vacuum = self._row("small_appliance_vacuum")
        return self._answer(vacuum, because, recovery_pct=share.number)

    def mvac_like(self, *, is_disposed: bool) -> EvacuationRequirement:
        reason = f"It is {self.kind.in_words} ({self.kind.because})"
        if is_disposed:
            row = self._row("mvac_like_disposal")
            return self._answer(row, f"{reason}; {row.note}.")
        row = self._row("mvac_like_opening")
        because = f"{reason}: it is opened while {row.value}; no level of table 1 is meant for it."
        return EvacuationRequirement(None, row.citation, because, row.is_confirmed)

    @property
    def _reason(self) -> str:
        return self.kind.because[0].upper() + self.kind.because[1:]

    @property
    def _split(self) -> date:
        return self._row("evacuation_machine_split").day

    @property
    def _is_old_machine(self) -> bool:
        return self.machine_made_on is not None and self.machine_made_on < self._split

    @property
    def _machine_suffix(self) -> str:
        return "_machine_before_1993_11_15" if self._is_old_machine else ""

    @property
    def _machine_words(self) -> str:
        return f"{'before' if self._is_old_machine else 'on or after'} {self._split}"

    def _row(self, key: str, *, category: str | None = None, full_charge_mg: int | None = None) -> Row:
        return self.tables.row(RULE_608, key, on=self.on, category=category, full_charge_mg=full_charge_mg)

    def _answer(
        self,
        row: Row,
        because: str,
        *,
        recovery_pct: Decimal | None = None,
        sound_level: Level | None = None,
    ) -> EvacuationRequirement:
        reference_kpa = self._row("evacuation_reference").number * KPA_PER_INHG
        designation = self.circuit.refrigerant.designation
        some = self.tables.find(RULE_608, "exempt_in_some_uses", on=self.on, category=designation)
        if some:
            because += (
                f" Where this use of {designation} is exempt from the prohibition of venting "
                f"({some.citation}), none of this applies."
            )
        return EvacuationRequirement(
            level=Level(row.number, row.unit, reference_kpa),
            recovery_pct=recovery_pct,
            sound_level=sound_level,
            citation=row.citation,
            because=because,
            is_confirmed=row.is_confirmed and self.kind.is_confirmed,
        )
