"""What the stories of demo appliances share: a leak found, its repair and tests, and a believable past."""

import random

from portal.demo.visits import LEAK_PLACES, Visit

#: Additions of these stories are this many times what would just reach the threshold in a year.
OVER = 1.3


def leak(source: random.Random) -> int:
    """Where a leak is, as an index into LEAK_PLACES."""
    return source.randrange(len(LEAK_PLACES))


def exceedance(
    days_ago: int, threshold: float, place: int, *, owner_decision: str = "accepted", over: float = OVER
) -> Visit:
    """A visit whose addition goes over the threshold, and which finds the leak."""
    return Visit(
        days_ago,
        "Called out for high case temperature. Found the charge low, topped up and searched for the leak.",
        added_fraction=threshold * over,
        finds_leaks=(place,),
        owner_decision=owner_decision,
    )


def repair(days_ago: int, number: int, *, evacuates: bool = False, initial: bool | None = True) -> Visit:
    """The repair of a leak, by its number, with the initial verification test unless there is none."""
    return Visit(
        days_ago,
        "Leak repaired; tested with nitrogen and bubble solution."
        if initial is not None
        else "Leak repaired.",
        repairs=(number,),
        evacuates=evacuates,
        initial=initial,
        tested=(number,) if initial is not None else (),
    )


def follow_up(days_ago: int, number: int, *, passed: bool = True) -> Visit:
    """The follow-up verification test of a leak, by its number."""
    return Visit(
        days_ago,
        "Follow-up verification under normal operating conditions with an electronic detector.",
        follow_up=passed,
        tested=(number,),
    )


def past(threshold: float, source: random.Random) -> list[Visit]:
    """A believable past before the case: small additions long ago."""
    return [
        Visit(
            days,
            "Charge trimmed at yearly maintenance.",
            added_fraction=threshold * 0.2,
            inspects=True,
        )
        for days in (source.randrange(930, 1000), source.randrange(520, 590))
    ]


def closed(threshold: float, source: random.Random, days_ago: int) -> list[Visit]:
    """A case from its exceedance to its passed follow-up test."""
    return [
        exceedance(days_ago, threshold, leak(source)),
        repair(days_ago - 5, 1),
        follow_up(days_ago - 11, 1),
    ]
