"""How sure a net mass is, as one standard deviation.

Method: JCGM 100:2008 (GUM). Independent contributions add as squares (5.1.2, equation 10, with sensitivities of one).
A contribution known only by its limits ±a is taken as rectangular, standard deviation a/√3 (4.3.7), so that a display
of division d contributes d/√12 = 0.29 d a level (F.2.2.1). That part is not divided by the number of readings: a still
load shows the same digit again and again.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt

_RECTANGULAR = sqrt(3)
# Half a division either way for hoses that pull and a load that settles, a level; common practice, no source.
_HANDLING_DIVISIONS = 0.5
# One division either way in an hour for a scale that warms or creeps, no more than three; common practice, no source.
# (OIML R 76-1, from memory: zero may move by one interval in 5 °C, a load's reading by half an interval in 30 minutes;
# 15 °C lie between a night and its day.)
_DRIFT_DIVISIONS_PER_H = 1.0
_DRIFT_DIVISIONS_MOST = 3.0
# A level that wasn't reached may be off by what a minute at the last rate would have brought; our choice.
_MISSING_S = 60.0
_S_PER_H = 3600.0


@dataclass(frozen=True)
class Contribution:
    """One reason why a net mass isn't sure, and its standard deviation."""

    name: str
    sd_mg: float


def combined_mg(contributions: Sequence[Contribution]) -> float:
    """The standard deviation of a sum of independent contributions (GUM 5.1.2)."""
    return sqrt(sum(contribution.sd_mg**2 for contribution in contributions))


def quantisation(division_mg: float) -> Contribution:
    """Two levels read off a display (GUM F.2.2.1)."""
    return Contribution("the scale's division", division_mg * sqrt(2 / 12))


def handling(division_mg: float) -> Contribution:
    """Hoses and a load that settles, at both levels."""
    return Contribution("hoses and handling", _HANDLING_DIVISIONS * division_mg / _RECTANGULAR * sqrt(2))


def noise(level_sds_mg: Sequence[float]) -> Contribution:
    """The readings' scatter at both levels, correlation counted in."""
    return Contribution("noise", sqrt(sum(sd_mg**2 for sd_mg in level_sds_mg)))


def drift(division_mg: float, flow_s: float) -> Contribution:
    """What the scale itself may have moved between the two levels."""
    divisions = min(_DRIFT_DIVISIONS_MOST, _DRIFT_DIVISIONS_PER_H * flow_s / _S_PER_H)
    return Contribution("drift", divisions * division_mg / _RECTANGULAR)


def shifts(sds_mg: Sequence[float]) -> Contribution:
    """How well each tare shift is known."""
    return Contribution("tare shifts", sqrt(sum(sd_mg**2 for sd_mg in sds_mg)))


def missing_level(slope_mg_per_s: float, risen_mg: float, which: str) -> Contribution:
    """A level that the log doesn't hold, since the weight was still moving; at most what the log holds flowed."""
    limit_mg = min(abs(slope_mg_per_s) * _MISSING_S, abs(risen_mg))
    return Contribution(f"no still reading {which}", limit_mg / _RECTANGULAR)


def left_out_at_ends(offs_mg: Sequence[float]) -> Contribution:
    """Readings with which a log begins or ends, left out as a bump: nobody saw whether they come back or are flow.

    Two answers have a standard deviation of half what is between them.
    """
    return Contribution(
        "readings left out where the log begins or ends", sqrt(sum((off / 2) ** 2 for off in offs_mg))
    )
