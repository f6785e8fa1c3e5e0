"""The page that checks a cylinder's pressure and files the result in its history."""

from typing import Any

from django.contrib import messages
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils import timezone
from django.utils.functional import cached_property

from jobs.forms.properties import CylinderCheckForm
from jobs.models import Cylinder, CylinderPressureCheck, PressureVerdict
from jobs.selectors.ledger import cylinder_contents
from jobs.services.pressure_checks import PressureReadings, pressure_check_file
from jobs.views.cylinders import cylinder_crumbs
from jobs.views.registers import Crumb, RegisterFormView


class PressureCheckView(RegisterFormView):
    permission_required = "jobs.add_cylinderpressurecheck"
    template_name = "jobs/pressure_check_form.html"
    form_class = CylinderCheckForm
    heading = "Check the pressure"
    button = "File the check"
    done = "Filed: {}."

    @cached_property
    def cylinder(self) -> Cylinder:
        """The cylinder that is checked."""
        return get_object_or_404(Cylinder, pk=self.kwargs["cylinder_pk"])

    def get_initial(self) -> dict[str, Any]:
        contents = list(cylinder_contents(self.cylinder))
        refrigerant = contents[0] if len(contents) == 1 else self.cylinder.refrigerant
        return {"checked_on": timezone.localdate(), "refrigerant": refrigerant}

    def save(self, form: CylinderCheckForm) -> CylinderPressureCheck:
        typed = form.cleaned_data
        check = pressure_check_file(
            by=self.request.user,
            cylinder=self.cylinder,
            checked_on=typed["checked_on"],
            refrigerant=typed["refrigerant"],
            readings=PressureReadings(
                temperature=typed["temperature"],
                pressure=typed["pressure"],
                gauge_doubt_psi=str(typed["gauge_doubt"]),
                temperature_doubt_f=str(typed["temperature_doubt"]),
                vapour_drawn_pct=str(typed["vapour_drawn"]),
                atmosphere_pa=form.atmosphere_pa,
            ),
            submission_id=typed["submission_id"],
            note=typed["note"],
        )
        if check.verdict in (PressureVerdict.TOO_HIGH, PressureVerdict.TOO_LOW):
            messages.warning(self.request, check.because)
        return check

    def crumbs(self) -> list[Crumb]:
        return cylinder_crumbs(self.cylinder)

    def done_url(self, row: CylinderPressureCheck) -> str:
        return reverse("cylinder-detail", args=[self.cylinder.pk])
