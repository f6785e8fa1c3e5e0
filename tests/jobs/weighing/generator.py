"""Logs as scales write them, made from physics, with the true net mass known.

Nothing here is taken from the estimator: a load changes by a flow of refrigerant; hoses pull, the scale warms, people
bump it and press its zero key; the scale rounds what is left to its division and a logger writes it down. The figures
are common practice of the field, no source; masses are grams, times seconds.
"""

from dataclasses import dataclass, field
from datetime import datetime, timedelta

import numpy as np

G_PER_LB, G_PER_OZ = 453.59237, 28.349523125
SHAPES = ("recovery", "vapour", "charge", "bursts", "recovery with pauses")
ANOMALIES = ("spike", "tare_shift", "gap", "stuck", "clock_went_back", "still_moving_at_end")


@dataclass(frozen=True)
class Injected:
    kind: str
    from_s: float
    to_s: float


@dataclass(frozen=True)
class GeneratedLog:
    data: bytes
    net_g: float
    direction: str
    division_g: float
    injected: tuple[Injected, ...]
    phases: tuple[tuple[str, float, float], ...]
    seed: int
    note: str


@dataclass
class _Bench:
    """The scale with its load, on a fine time grid, before anything is rounded."""

    rng: np.random.Generator
    times_s: np.ndarray
    load_g: np.ndarray
    flow_g_per_s: np.ndarray
    zero_g: np.ndarray = field(init=False)
    disturbance_g: np.ndarray = field(init=False)
    injected: list[Injected] = field(default_factory=list)

    def __post_init__(self):
        self.zero_g = np.zeros(len(self.times_s))
        self.disturbance_g = np.zeros(len(self.times_s))


def generate(seed: int, kinds: tuple[str, ...] | None = None) -> GeneratedLog:
    """One log. ``kinds`` are the anomalies to put in; by default none to three of them at random."""
    rng = np.random.default_rng(seed)
    if kinds is None:
        kinds = tuple(
            rng.choice(ANOMALIES, size=rng.choice([0, 1, 2, 3], p=[0.4, 0.35, 0.15, 0.1]), replace=False)
        )
    interval_s = float(rng.choice([0.5, 1.0, 1.0, 1.0, 2.0, 5.0]))
    shape = str(rng.choice(SHAPES))
    flow, phases = _flow(rng, shape)
    before_s, after_s = rng.uniform(20, 240), rng.uniform(25, 400)
    if interval_s > 2:
        before_s, after_s = before_s + 40, after_s + 40
    bench, during = _laden(rng, (shape, flow), before_s, after_s, interval_s)
    scale = _scale(rng)
    _pull_of_hoses(bench, *during)
    _warming(bench, scale[0])
    _inject(bench, kinds, *during, scale[0])
    phases = tuple((name, first + before_s, end + before_s) for name, first, end in phases)
    return _write(bench, scale, kinds, _facts(seed, shape, interval_s, scale[0], kinds, phases))


def generate_long(seed: int, interval_s: float, kinds: tuple[str, ...] | None = None) -> GeneratedLog:
    """One log of 6 to 48 hours on a scale that nobody shades: what flows takes minutes to hours of them.

    Night and day, a load's creep and a slow drift move the zero by several divisions, and the readings are as noisy as
    wind makes them. ``kinds`` as in ``generate``; a third of the logs have one anomaly, unless stated.
    """
    rng = np.random.default_rng([seed, 48])
    if kinds is None:
        kinds = (str(rng.choice(ANOMALIES)),) if rng.random() < 1 / 3 else ()
    shape = str(rng.choice([*SHAPES, "slow", "twice"]))
    flow = _long_flow(rng, shape)
    rest_s = max(7_200.0, rng.uniform(6, 48) * 3_600 - len(flow))
    before_s = rest_s * rng.uniform(0.1, 0.9)
    bench, during = _laden(rng, (shape, flow), before_s, rest_s - before_s, interval_s)
    scale = _scale(rng)
    _pull_of_hoses(bench, *during)
    _day_and_night(bench, scale[0])
    bench.disturbance_g += rng.normal(0, rng.uniform(0, 2.5) * scale[0], len(bench.times_s))
    _inject(bench, kinds, *during, scale[0])
    return _write(bench, scale, kinds, _facts(seed, shape, interval_s, scale[0], kinds, ()))


def _laden(rng, shape_and_flow, before_s, after_s, step_s):
    """A load that stands, takes or gives the flow (a rate at whole seconds) and stands again; and when it flows."""
    shape, flow = shape_and_flow
    flow = np.interp(np.arange(0, len(flow), step_s), np.arange(len(flow)), flow)
    rate = np.concatenate([np.zeros(round(before_s / step_s)), flow, np.zeros(round(after_s / step_s))])
    flow_from = round(before_s / step_s)
    moved_g = np.concatenate([[0.0], np.cumsum(rate[:-1]) * step_s])
    goes_in = _direction(shape) == "in"
    start_g = rng.uniform(9_000, 30_000) + (0 if goes_in else moved_g[-1])
    load_g = start_g + (moved_g if goes_in else -moved_g)
    return _Bench(rng, np.arange(len(rate)) * step_s, load_g, rate), (flow_from, flow_from + len(flow))


def _direction(shape):
    return "out" if shape in ("charge", "bursts") else "in"


def _facts(seed, shape, step_s, division_g, kinds, phases):
    return {
        "direction": _direction(shape),
        "division_g": division_g,
        "phases": phases,
        "seed": seed,
        "note": f"{seed}: {shape}, every {step_s} s, {division_g:.2f} g, {', '.join(kinds)}",
    }


def _long_flow(rng, shape):
    if shape == "slow":
        rate = np.full(int(rng.uniform(1, 6) * 3_600), rng.uniform(0.2, 1.5))
        return _valve(rng, rate * _wander(rng, len(rate)))
    if shape == "twice":
        pause = np.zeros(int(rng.uniform(0.5, 4) * 3_600))
        return np.concatenate([_flow(rng, "recovery")[0], pause, _flow(rng, "vapour")[0]])
    return _flow(rng, shape)[0]


def _flow(rng, shape):
    """Rate in grams a second at whole seconds, and the phases from the start of the flow."""
    if shape == "charge":
        rate = np.full(int(rng.uniform(60, 1500)), rng.uniform(2, 40))
        return _valve(rng, rate * _wander(rng, len(rate))), ()
    if shape == "bursts":
        parts = []
        for _ in range(rng.integers(2, 8)):
            parts += [np.full(rng.integers(6, 60), rng.uniform(5, 40)), np.zeros(rng.integers(10, 120))]
        return np.concatenate(parts[:-1]), ()
    vapour_s, tau_s = rng.uniform(300, 2400), rng.uniform(250, 900)
    vapour = rng.uniform(2.5, 8) * np.exp(-np.arange(int(vapour_s)) / tau_s)
    if shape == "vapour":
        return _valve(rng, vapour * _wander(rng, len(vapour))), ()
    liquid = np.full(int(rng.uniform(90, 400)), rng.uniform(25, 80))
    pulled = vapour[-1] * 0.25 * np.exp(-np.arange(int(rng.uniform(120, 900))) / 200)
    rate = np.concatenate([liquid, vapour, pulled])
    ends = np.cumsum([0, len(liquid), len(vapour), len(pulled)])
    rate = rate * _wander(rng, len(rate))
    if shape == "recovery":
        names = ("liquid", "vapour", "pull_down")
        phases = tuple(zip(names, ends[:-1].tolist(), ends[1:].tolist(), strict=True))
        return _valve(rng, rate), phases
    at = int(rng.uniform(0.2, 0.8) * len(rate))
    return _valve(rng, np.concatenate([rate[:at], np.zeros(rng.integers(30, 400)), rate[at:]])), ()


def _wander(rng, count):
    """Slugs and a slowly changing pressure: a factor about 1."""
    slow = np.interp(np.arange(count), np.linspace(0, count, 6), rng.normal(1, 0.12, 6).clip(0.5, 1.5))
    return slow * rng.gamma(9, 1 / 9, count)


def _valve(rng, rate):
    opening = max(1, int(rng.uniform(1, 6)))
    rate = rate.copy()
    rate[:opening] *= np.linspace(0.2, 1, opening)
    return rate


def _scale(rng):
    """A scale's division in grams, and how its logger writes a number of divisions."""
    kind = rng.choice(["lb oz", "oz", "lb", "g", "kg", "kg5"])
    tenth_oz = G_PER_OZ / 10
    if kind == "lb oz":
        # Tenths of an ounce; below zero the sign stands before the pounds.
        def text(count):
            sign, count = ("-" if count < 0 else ""), abs(count)
            return f"{sign}{count // 160} lb {count % 160 / 10:.1f} oz"

        return tenth_oz, ("Weight", text)
    if kind == "oz":
        return tenth_oz, ("WEIGHT (OZ)", lambda count: f"{count / 10:.1f}")
    if kind == "lb":
        return tenth_oz, ("weight_lb", lambda count: f"{count / 160:.3f}")
    if kind == "g":
        return 2.0, ("Weight [g]", lambda count: f"{count * 2}")
    if kind == "kg":
        return 2.0, ("weight_kg", lambda count: f"{count * 0.002:.3f}")
    return 5.0, ("Mass (kg)", lambda count: f"{count * 0.005:.3f}")


def _pull_of_hoses(bench, flow_from, flow_to):
    """Hoses stiffen under pressure and shake while refrigerant flows, and come to rest a little elsewhere."""
    rng, count = bench.rng, len(bench.times_s)
    rest_before, stiff, rest_after = rng.normal(0, 0.4), rng.normal(0, 1.5), rng.normal(0, 0.4)
    bench.disturbance_g[:flow_from] += rest_before
    bench.disturbance_g[flow_from:flow_to] += stiff
    bench.disturbance_g[flow_to:] += rest_after
    shaking = _autoregressive(rng, count, 0.7) * rng.uniform(0.2, 2.5)
    shaking[bench.flow_g_per_s == 0] *= rng.uniform(0.05, 0.3)
    bench.disturbance_g += shaking
    bench.disturbance_g += rng.normal(0, rng.uniform(0.1, 0.9), count)


def _autoregressive(rng, count, carry):
    steps = rng.normal(0, np.sqrt(1 - carry**2), count)
    values = np.empty(count)
    values[0] = rng.normal()
    for index in range(1, count):
        values[index] = carry * values[index - 1] + steps[index]
    return values


def _warming(bench, division_g):
    """The sun goes round: the zero moves by up to a division in some ten minutes to hours."""
    rng = bench.rng
    period_s, phase = rng.uniform(3_600, 6 * 3_600), rng.uniform(0, 2 * np.pi)
    amplitude_g = rng.uniform(0, 0.5) * division_g
    bench.disturbance_g += amplitude_g * np.sin(2 * np.pi * bench.times_s / period_s + phase)


def _day_and_night(bench, division_g):
    """The zero follows the day's temperature, by up to three divisions from night to noon; a load creeps."""
    rng, hours = bench.rng, bench.times_s / 3_600
    bench.disturbance_g += (
        rng.uniform(0, 1.5) * division_g * np.sin(2 * np.pi * hours / 24 + rng.uniform(0, 2 * np.pi))
    )
    bench.disturbance_g += rng.uniform(-0.5, 0.5) * division_g * (1 - np.exp(-hours / rng.uniform(0.5, 3)))
    bench.disturbance_g += rng.normal(0, 0.03) * division_g * hours
    _warming(bench, division_g / 2)


def _inject(bench, kinds, flow_from, flow_to, division_g):
    rng, times_s = bench.rng, bench.times_s
    step_s = times_s[1]
    if "spike" in kinds:
        for _ in range(rng.integers(1, 4)):
            at = int(rng.uniform(0.03, 0.97) * len(times_s))
            lasts_s = rng.uniform(1, 8)
            count = max(1, int(lasts_s / step_s))
            if step_s > 2:
                count = 1
            height_g = rng.choice([-1, 1]) * rng.uniform(max(60, 15 * division_g), 3_000)
            ring = height_g * np.exp(-np.arange(count) * step_s / 4)
            if rng.random() < 0.4:
                ring *= np.cos(np.arange(count) * step_s * 2.0)
            end = min(at + count, len(times_s))
            bench.disturbance_g[at:end] += ring[: end - at]
            bench.injected.append(Injected("spike", times_s[at], times_s[end - 1]))
    if "tare_shift" in kinds:
        at = int(rng.uniform(0.05, 0.95) * len(times_s))
        bench.zero_g[at:] = bench.load_g[at] + bench.disturbance_g[at]
        bench.injected.append(Injected("tare_shift", times_s[at - 1], times_s[at]))


def _write(bench, scale, kinds, facts):
    rng, times_s = bench.rng, bench.times_s
    division_g, (heading, text) = scale
    step_s = times_s[1]
    counts = np.rint((bench.load_g + bench.disturbance_g - bench.zero_g) / division_g).astype(int)
    keep = np.ones(len(times_s), dtype=bool)
    last = len(times_s)
    if "still_moving_at_end" in kinds:
        flowing = np.flatnonzero(bench.flow_g_per_s > 15 * division_g / 60)
        flowing = flowing[flowing > flowing[0] + (flowing[-1] - flowing[0]) * 0.2]
        # Nobody stops a log in the first seconds of a flow.
        for_s = max(4, int(10 / step_s))
        lasting = [at for at in flowing if bench.flow_g_per_s[at - for_s : at + 1].min() > 0]
        last = int(rng.choice(lasting or flowing.tolist())) + 1
        keep[last:] = False
        bench.injected[:] = [found for found in bench.injected if found.to_s < times_s[last - 1] - 30]
        if bench.flow_g_per_s[max(0, last - int(20 / step_s)) : last].min() > 15 * division_g / 60:
            bench.injected.append(Injected("still_moving_at_end", times_s[last - 1], times_s[last - 1]))
    if "stuck" in kinds:
        fast = np.flatnonzero(bench.flow_g_per_s[:last] > 0.5 * division_g)
        lasts = int(rng.uniform(15, 60) / step_s)
        if len(fast) and lasts >= 6:
            at = int(rng.choice(fast))
            if bench.flow_g_per_s[at : at + lasts].min() > 0.4 * division_g and at + lasts < last - 20:
                counts[at : at + lasts] = counts[at]
                bench.injected.append(Injected("stuck", times_s[at], times_s[at + lasts]))
    if "gap" in kinds:
        at = int(rng.uniform(0.1, 0.8) * last)
        lasts = max(8, int(rng.uniform(10, 120) / step_s))
        if at + lasts < last - 5:
            keep[at : at + lasts] = False
            bench.injected.append(Injected("gap", times_s[at - 1], times_s[at + lasts]))
    clock_s = times_s.copy()
    if "clock_went_back" in kinds:
        at = int(rng.uniform(0.1, 0.9) * last)
        clock_s[at:] -= rng.choice([3600.0, rng.uniform(20, 600) // 1])
        if keep[at - 1] and keep[at]:
            bench.injected.append(Injected("clock_went_back", times_s[at - 1], times_s[at]))
        else:
            clock_s = times_s.copy()
    end_load = bench.load_g[last - 1]
    net_g = abs(end_load - bench.load_g[0])
    lines = _lines(
        rng,
        clock_s[keep],
        [text(int(count)) for count in counts[keep]],
        heading,
    )
    return GeneratedLog(
        data=lines,
        net_g=float(net_g),
        injected=tuple(bench.injected),
        **facts,
    )


def _lines(rng, clock_s, weights, heading):
    start = datetime.fromisoformat("2026-05-04T07:00") + timedelta(minutes=int(rng.integers(0, 960)))
    form = rng.choice(["iso", "iso zone", "clock", "elapsed"])
    if form == "elapsed":
        shift = rng.uniform(0, 1000) // 1
        times, name = [f"{second + shift:.1f}" for second in clock_s], "elapsed_s"
    else:
        moments = [start + timedelta(seconds=float(second)) for second in clock_s]
        if form == "clock":
            times, name = [f"{moment:%H:%M:%S}.{moment.microsecond // 100000}" for moment in moments], "Time"
        else:
            zone = "+02:00" if form == "iso zone" else ""
            times, name = (
                [moment.isoformat(timespec="milliseconds") + zone for moment in moments],
                "timestamp",
            )
    separator = rng.choice([",", ";", "\t"])
    comma = separator != "," and rng.random() < 0.5
    if comma:
        weights = [weight.replace(".", ",") for weight in weights]
    rows = [
        f"{name}{separator}{heading}",
        *(f"{time}{separator}{weight}" for time, weight in zip(times, weights, strict=True)),
    ]
    return ("\r\n" if rng.random() < 0.3 else "\n").join(rows).encode()
