"""What runs out: certificates, apprentices' exemptions, cylinders' tests and calibrations, each with its last day.

The list is derived from the registers and records whenever it is asked for. What was renewed, replaced, revoked or
taken out of use isn't in it. Each thing has a key made of what its last day rests on, in the database as here: a key
that no row gives any more is of something settled.
"""

import datetime
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any

from django.db.models import CharField, F, OuterRef, Q, QuerySet, Subquery, Value
from django.db.models.functions import Cast, Coalesce, Concat
from django.urls import reverse
from django.utils import timezone

from compliance.rulebook.expiries import (
    ExpiryKind,
    LastDay,
    apprenticeship_counts_until,
    calibration_counts_until,
    cylinder_counts_until,
)
from compliance.selectors.wording import kind_in_words, met_by_in_words, owed_in_words, runs_out_in_words
from jobs.models import Calibration, Cylinder, CylinderPlace, Instrument, Technician
from jobs.selectors.cylinders import cylinders_to_requalify
from jobs.selectors.instruments import STANDING_CALIBRATION
from jobs.selectors.technicians import apprentices, certificate_last_day, certifications_in_force


@dataclass(frozen=True)
class Expiry:
    """One thing that runs out.

    Attributes:
        kind: of what it is.
        key: what reminders name it by.
        what: the thing, in a few words,
        whose: and whose it is, or where.
        last_day: until when it counts, and why.
        today: the date at the firm.
        technician: whose certificate or exemption it is; or else
        cylinder: which cylinder, or
        instrument: which instrument it is.
        page: the path of the page that shows it,
        form: and of the form that settles it,
        form_name: and what that form is for.
        form_permission: what a person must hold to be given that form.
    """

    kind: ExpiryKind
    key: str
    what: str
    whose: str
    last_day: LastDay
    today: datetime.date
    page: str
    form: str
    form_name: str
    form_permission: str
    technician: Technician | None = None
    cylinder: Cylinder | None = None
    instrument: Instrument | None = None

    @property
    def last_on(self) -> datetime.date:
        """The last day on which it counts."""
        return self.last_day.on

    @property
    def days_left(self) -> int:
        """Days until the last day; negative once it has passed."""
        return (self.last_on - self.today).days

    @property
    def when(self) -> str:
        """How far off the last day is, in words."""
        return runs_out_in_words(self.days_left)

    @property
    def name(self) -> str:
        """What kind of thing runs out."""
        return kind_in_words(self.kind)

    @property
    def to_do(self) -> str:
        """What has to be done, in a sentence."""
        return owed_in_words(self.kind)

    @property
    def met_by(self) -> str:
        """What settles it, in a sentence."""
        return met_by_in_words(self.kind)


def firm_date(now: datetime.datetime) -> datetime.date:
    """The date at the firm at an instant."""
    return now.astimezone(timezone.get_default_timezone()).date()


def expiries(today: datetime.date, *, kinds: Iterable[str] = tuple(ExpiryKind)) -> list[Expiry]:
    """Everything that has run out or will, however far off, the soonest first.

    Args:
        today: the date at the firm.
        kinds: of these kinds alone.
    """
    readers = {
        ExpiryKind.CERTIFICATE: _certificates,
        ExpiryKind.APPRENTICESHIP: _apprentices,
        ExpiryKind.REQUALIFICATION: _cylinders,
        ExpiryKind.CALIBRATION: _instruments,
    }
    found = [expiry for kind in kinds for expiry in readers[ExpiryKind(kind)](today)]
    return sorted(found, key=lambda expiry: (expiry.last_on, expiry.key))


def still_runs() -> Q:
    """A condition on reminders: what they are about has neither been settled nor begun anew since."""
    rows = (_with_certificates(), _with_apprentices(), _with_cylinders(), _with_instruments())
    condition = Q()
    for watched in rows:
        condition |= Q(owed_key__in=watched.values("expiry_key"))
    return condition


def _certificates(today: datetime.date) -> Iterator[Expiry]:
    for row in _with_certificates().select_related("technician__user"):
        if last_day := certificate_last_day(row, today):
            yield Expiry(
                kind=ExpiryKind.CERTIFICATE,
                key=row.expiry_key,
                what=f"{row.get_type_display().partition(':')[0]} no. {row.number}",
                whose=row.technician.full_name,
                last_day=last_day,
                today=today,
                page=reverse("technician-detail", args=[row.technician_id]),
                form=reverse("certification-renew", args=[row.pk]),
                form_name="Record what renews it",
                form_permission="jobs.change_certification",
                technician=row.technician,
            )


def _apprentices(today: datetime.date) -> Iterator[Expiry]:
    for row in _with_apprentices().select_related("user"):
        if row.apprentice_registered_on:
            yield Expiry(
                kind=ExpiryKind.APPRENTICESHIP,
                key=row.expiry_key,
                what="Work as a registered apprentice",
                whose=row.full_name,
                last_day=apprenticeship_counts_until(row.apprentice_registered_on),
                today=today,
                page=reverse("technician-detail", args=[row.pk]),
                form=reverse("certification-add", args=[row.pk]),
                form_name="Record the certificate",
                form_permission="jobs.add_certification",
                technician=row,
            )


def _cylinders(today: datetime.date) -> Iterator[Expiry]:
    for row in _with_cylinders():
        if row.requalified_on:
            period = row.requalification_period_years
            yield Expiry(
                kind=ExpiryKind.REQUALIFICATION,
                key=row.expiry_key,
                what=f"{row.get_kind_display()} {row.serial_number}",
                whose=row.place_note or row.get_place_display(),
                last_day=cylinder_counts_until(row.requalified_on, period, row.specification),
                today=today,
                page=reverse("cylinder-detail", args=[row.pk]),
                form=reverse("requalification-test-add", args=[row.pk]),
                form_name="File the test",
                form_permission="jobs.add_requalificationtest",
                cylinder=row,
            )


def _instruments(today: datetime.date) -> Iterator[Expiry]:
    for row in _with_instruments():
        yield Expiry(
            kind=ExpiryKind.CALIBRATION,
            key=row.expiry_key,
            what=f"{row.get_kind_display()} {row.serial_number}",
            whose=f"{row.make} {row.model}".strip(),
            last_day=calibration_counts_until(row.calibrated_on, row.due_on),
            today=today,
            page=reverse("instrument-detail", args=[row.pk]),
            form=reverse("calibration-add", args=[row.pk]),
            form_name="Record the calibration",
            form_permission="jobs.add_calibration",
            instrument=row,
        )


def _with_certificates() -> QuerySet[Any]:
    dates = (_text("issued_on"), _text("refreshed_on"), _text("expires_on"))
    return certifications_in_force().annotate(expiry_key=_key(ExpiryKind.CERTIFICATE, _text("pk"), *dates))


def _with_apprentices() -> QuerySet[Any]:
    parts = (_text("pk"), _text("apprentice_registered_on"))
    return apprentices().annotate(expiry_key=_key(ExpiryKind.APPRENTICESHIP, *parts))


def _with_cylinders() -> QuerySet[Any]:
    """Cylinders of ours; one that is with another firm is tested, if it comes back, by then."""
    parts = (_text("pk"), _text("requalified_on"), _text("requalification_period_years"))
    rows = cylinders_to_requalify().exclude(place=CylinderPlace.AWAY)
    return rows.annotate(expiry_key=_key(ExpiryKind.REQUALIFICATION, *parts))


def _with_instruments() -> QuerySet[Any]:
    """Instruments in use, with the newest calibration that stands."""
    newest = Calibration.objects.filter(STANDING_CALIBRATION, instrument=OuterRef("pk"))
    newest = newest.order_by("-calibrated_on", "-pk")
    calibration = {name: Subquery(newest.values(name)[:1]) for name in ("calibrated_on", "due_on")}
    rows = Instrument.objects.filter(is_in_use=True).annotate(
        calibration_id=Subquery(newest.values("pk")[:1]), **calibration
    )
    parts = (_text("pk"), _text("calibration_id"))
    return rows.exclude(calibration_id=None).annotate(expiry_key=_key(ExpiryKind.CALIBRATION, *parts))


def _key(kind: ExpiryKind, *parts: Coalesce) -> Concat:
    joined = [piece for part in parts for piece in (Value(":"), part)]
    return Concat(Value(kind.value), *joined, output_field=CharField())


def _text(name: str) -> Coalesce:
    return Coalesce(Cast(F(name), CharField()), Value(""))
