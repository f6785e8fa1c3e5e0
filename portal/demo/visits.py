"""What a story is made of: visits to one appliance, told in days before today. No database here."""

from dataclasses import dataclass, field, replace

#: Leaks that a demo visit may find: (part, location).
LEAK_PLACES = (
    ("Liquid line filter drier", "Flare connection at the drier outlet"),
    ("Condenser coil", "Third return bend from the top"),
    ("Suction line", "Braze joint at the service valve"),
    ("Compressor 2", "Shaft seal"),
    ("Evaporator coil", "Distributor tube, case 4"),
    ("Expansion valve", "Bonnet gasket"),
    ("Receiver", "Relief valve seat"),
    ("Oil separator", "Sight glass gasket"),
)


@dataclass(frozen=True)
class Visit:
    """One visit.

    Attributes:
        days_ago: how many days before today.
        text: the work as the technician writes it.
        added_fraction: refrigerant added as a fraction of the full charge; 0 for none.
        removed_fraction: refrigerant recovered as a fraction of the full charge; 0 for none.
        added_lb: the same in pounds, where a log shows just that mass.
        removed_lb: likewise.
        logs: files of the scale's logs, one for each transfer in order: what was removed first.
        reason: why it was added or removed, one of the ledger's reasons.
        finds_leaks: indices into LEAK_PLACES; the first found becomes the appliance's next leak number.
        inspects: a leak inspection was done (implied by finding leaks).
        repairs: numbers of the appliance's leaks that were repaired.
        evacuates: the appliance was evacuated for the repair.
        initial: outcome of the initial verification test of the repaired or open leaks, if one was done.
        follow_up: outcome of the follow-up verification test, if one was done.
        tested: numbers of the leaks that the tests covered.
        statements: further facts as (kind, details).
        origin: whose work it was.
        owner_decision: what the owner said when told of an exceedance, "" if not told.
    """

    days_ago: int
    text: str
    added_fraction: float = 0.0
    removed_fraction: float = 0.0
    added_lb: str = ""
    removed_lb: str = ""
    logs: tuple[str, ...] = ()
    reason: str = "service"
    finds_leaks: tuple[int, ...] = ()
    inspects: bool = False
    repairs: tuple[int, ...] = ()
    evacuates: bool = False
    initial: bool | None = None
    follow_up: bool | None = None
    tested: tuple[int, ...] = ()
    statements: tuple[tuple[str, dict[str, object]], ...] = field(default=())
    origin: str = "own"
    owner_decision: str = ""

    def earlier(self, days: int) -> "Visit":
        """The same visit, ``days`` days earlier."""
        return replace(self, days_ago=self.days_ago + days)
