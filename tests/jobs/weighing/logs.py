"""Small logs put together by hand for single checks; the statistics use the generator."""

import numpy as np

from jobs.weighing import read_log, weigh

SECONDS = np.arange(600.0)


def ramp(start_kg, end_kg, from_s, to_s, times_s=SECONDS):
    return start_kg + np.clip((times_s - from_s) / (to_s - from_s), 0, 1) * (end_kg - start_kg)


def text(weights_kg, times_s=SECONDS):
    lines = [f"{second:.1f},{weight:.3f}\n" for second, weight in zip(times_s, weights_kg, strict=True)]
    return ("time_s,weight_kg\n" + "".join(lines)).encode()


def weighed(weights_kg, times_s=SECONDS, **options):
    return weigh(read_log(text(weights_kg, times_s)), **options)


def kinds(result):
    return [anomaly.kind for anomaly in result.anomalies]
