"""Logs of scales for tests: a weight that stands still, moves by a known mass, and stands still again."""

from collections.abc import Iterator
from datetime import datetime, timedelta

STARTS_AT = datetime(2026, 3, 2, 14, 5, 0)  # noqa: DTZ001 -- scales know no time zone
STILL_S, FLOW_S = 120, 600
GROSS = 20_000


def scale_log(
    net_thousandths: int = 7_000,
    *,
    rises: bool = False,
    unit: str = "lb",
    header: bool = True,
    starts_at: datetime = STARTS_AT,
) -> bytes:
    """A reading a second for 14 minutes, as CSV.

    Args:
        net_thousandths: what flows, in thousandths of the unit; 7 lb unless given.
        rises: whether the cylinder on the scale gains; it gives refrigerant off unless said.
        unit: of the weights.
        header: whether the file says what its columns are; without, its unit is open.
        starts_at: the first reading's time.
    """
    lines = [f"time,weight_{unit}"] if header else []
    for second, gross in enumerate(_weights(net_thousandths if rises else -net_thousandths)):
        lines.append(f"{starts_at + timedelta(seconds=second):%Y-%m-%dT%H:%M:%S},{gross / 1000:.3f}")
    return "\n".join(lines).encode() + b"\n"


def _weights(net: int) -> Iterator[int]:
    for second in range(STILL_S + FLOW_S + STILL_S):
        flowed = min(max(second - STILL_S, 0), FLOW_S) / FLOW_S
        # The last digit flickers, as it does.
        yield GROSS + round(net * flowed) + (2 if second % 3 == 0 else 0)
