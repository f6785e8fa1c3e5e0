"""Pure: reads a scale's log and finds the net mass in it. No Django, no records, no law; numpy and what Python has.

A log is read by ``read_log``, weighed by ``weigh`` and thinned for drawing by ``curve``.
"""

from jobs.weighing.curves import curve
from jobs.weighing.errors import InvalidLog, UnclearLog
from jobs.weighing.estimation import weigh
from jobs.weighing.log import Columns, WeighLog
from jobs.weighing.reading import read_log
from jobs.weighing.results import Anomaly, Curve, Phase, Plateau, Weighing

__all__ = [
    "Anomaly",
    "Columns",
    "Curve",
    "InvalidLog",
    "Phase",
    "Plateau",
    "UnclearLog",
    "WeighLog",
    "Weighing",
    "curve",
    "read_log",
    "weigh",
]
