"""Warnings about the facts themselves, whatever rule is asked about: things that look wrong or have no effect."""

from compliance.rulebook import policy
from compliance.rulebook.facts import Category, FactKind
from compliance.rulebook.timeline import Timeline


def notices(timeline: Timeline) -> list[str]:
    """What a person should look at again, in the order it happened."""
    return [
        *_installation(timeline),
        *_mothballing(timeline),
        *_shutdowns(timeline),
        *_after_retirement(timeline),
    ]


def _installation(timeline: Timeline) -> list[str]:
    installed_on = timeline.appliance.installed_on
    if installed_on is None or not timeline.moments or timeline.moments[0].fact.on >= installed_on:
        return []
    first_on = timeline.moments[0].fact.on
    return [f"The first record is of {first_on}, before the installation on {installed_on}."]


def _mothballing(timeline: Timeline) -> list[str]:
    """Returning to service without adding refrigerant leaves clocks standing still (82.157 and 84.106 (d)(3), (i))."""
    warnings = []
    mothballed_on = None
    added_on = {fact.on for fact in timeline.of_kind(FactKind.ADDITION)}
    for fact in timeline.of_kind(FactKind.MOTHBALLED, FactKind.RETURNED_TO_SERVICE, FactKind.ADDITION):
        if fact.kind is FactKind.MOTHBALLED:
            mothballed_on = mothballed_on or fact.on
        elif fact.kind is FactKind.ADDITION:
            mothballed_on = None
        elif mothballed_on is not None and fact.on not in added_on:
            warnings.append(
                f"Returned to service on {fact.on} with no refrigerant added since {mothballed_on}, when it was "
                f"mothballed: {policy.RETURN_NEEDS_ADDITION}."
            )
    return warnings


def _shutdowns(timeline: Timeline) -> list[str]:
    category = timeline.appliance.category
    if category is Category.INDUSTRIAL_PROCESS_REFRIGERATION:
        return []
    return [
        f"The industrial process shutdown of {fact.on} has no effect: the appliance is {category.in_words}."
        for fact in timeline.of_kind(FactKind.INDUSTRIAL_PROCESS_SHUTDOWN_REQUIRED)
    ]


def _after_retirement(timeline: Timeline) -> list[str]:
    return [
        f"Refrigerant was added on {moment.fact.on} to an appliance retired on {timeline.retired_on}."
        for moment in timeline.moments
        if moment.state.is_retired and moment.fact.kind is FactKind.ADDITION
    ]
