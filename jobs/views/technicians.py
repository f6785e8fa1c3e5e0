"""Pages of technicians, their certificates and their sign-in."""

from copy import copy
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import QuerySet
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils import timezone
from django.utils.decorators import method_decorator
from django.utils.functional import cached_property
from django.views.decorators.cache import never_cache
from django.views.generic import FormView

from jobs.forms.technicians import (
    CertificationForm,
    CertificationRenewalForm,
    NewSignInForm,
    TechnicianForm,
)
from jobs.models import Certification, Technician
from jobs.selectors.technicians import held_certificates, technician_list
from jobs.services.technicians import (
    certification_change,
    certification_record,
    technician_change,
    technician_register,
)
from jobs.views.registers import Crumb, RegisterDetailView, RegisterFormView
from portal.accounts.models import Role
from portal.accounts.services import SignIn, is_only, password_renew, sign_in_open, sign_in_set_open
from portal.web.views import PortalListView, PortalView


def technician_crumbs(technician: Technician | None = None) -> list[Crumb]:
    """Return the way to a technician's page, or to the list."""
    crumbs = [("Technicians", reverse("technician-list"))]
    return [*crumbs, (str(technician), technician_url(technician))] if technician else crumbs


def technician_url(technician: Technician) -> str:
    """Return a technician's page."""
    return reverse("technician-detail", args=[technician.pk])


class TechnicianListView(PortalListView):
    permission_required = "jobs.view_technician"
    template_name = "jobs/technician_list.html"
    context_object_name = "technicians"

    def get_queryset(self) -> QuerySet[Technician]:
        return technician_list(search=self.query)


class TechnicianDetailView(RegisterDetailView):
    permission_required = "jobs.view_technician"
    template_name = "jobs/technician_detail.html"
    context_object_name = "technician"
    queryset = Technician.objects.select_related("user").prefetch_related("certifications")

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        user = self.object.user
        is_renewable = bool(user) and user.is_active and is_only(user, Role.TECHNICIAN)
        certificates = held_certificates(self.object, timezone.localdate())
        return super().get_context_data(
            is_password_renewable=is_renewable, certificates=certificates, **kwargs
        )


class TechnicianAddView(RegisterFormView):
    permission_required = "jobs.add_technician"
    form_class = TechnicianForm
    heading = "Add a technician"
    button = "Add the technician"
    done = "{} is on record. Add the certificates next."

    def save(self, form: TechnicianForm) -> Technician:
        return technician_register(by=self.request.user, **form.cleaned_data)

    def crumbs(self) -> list[Crumb]:
        return technician_crumbs()

    def done_url(self, row: Technician) -> str:
        return technician_url(row)


class TechnicianChangeView(TechnicianAddView):
    permission_required = "jobs.change_technician"
    heading = "Change the technician"
    button = "Save"
    done = "{} is changed."

    @cached_property
    def technician(self) -> Technician:
        """The technician who is changed."""
        return get_object_or_404(Technician.objects.select_related("user"), pk=self.kwargs["pk"])

    def get_form_kwargs(self) -> dict[str, Any]:
        return {**super().get_form_kwargs(), "instance": self.technician}

    def save(self, form: TechnicianForm) -> Technician:
        """Change the technician; the sign-in opens and closes with working for the firm."""
        by = self.request.user
        technician = technician_change(by=by, technician=copy(self.technician), **form.cleaned_data)
        if technician.user:
            sign_in_set_open(by=by, user=technician.user, role=Role.TECHNICIAN, is_open=technician.is_active)
        return technician

    def crumbs(self) -> list[Crumb]:
        return technician_crumbs(self.technician)


class CertificationAddView(RegisterFormView):
    permission_required = "jobs.add_certification"
    form_class = CertificationForm
    heading = "Add a certificate"
    button = "Add the certificate"
    done = "{} is on record."

    @cached_property
    def technician(self) -> Technician:
        """The technician who holds it."""
        return get_object_or_404(Technician, pk=self.kwargs["technician_pk"])

    def save(self, form: CertificationForm) -> Certification:
        return certification_record(by=self.request.user, technician=self.technician, **form.cleaned_data)

    def crumbs(self) -> list[Crumb]:
        return technician_crumbs(self.technician)

    def done_url(self, row: Certification) -> str:
        return technician_url(self.technician)


class CertificationRenewView(RegisterFormView):
    """Records a refresher, a new last day or the end of a certificate."""

    permission_required = "jobs.change_certification"
    form_class = CertificationRenewalForm
    heading = "Renew or end the certificate"
    button = "Save"
    done = "{} is changed."

    @cached_property
    def certification(self) -> Certification:
        """The certificate as it is on record."""
        rows = Certification.objects.select_related("technician")
        return get_object_or_404(rows, pk=self.kwargs["pk"])

    def get_form_kwargs(self) -> dict[str, Any]:
        return {**super().get_form_kwargs(), "instance": self.certification}

    def save(self, form: CertificationRenewalForm) -> Certification:
        certification = Certification.objects.get(pk=self.certification.pk)
        return certification_change(by=self.request.user, certification=certification, **form.cleaned_data)

    def crumbs(self) -> list[Crumb]:
        return technician_crumbs(self.certification.technician)

    def done_url(self, row: Certification) -> str:
        return technician_url(self.certification.technician)


@method_decorator(never_cache, name="dispatch")
class TechnicianSignInView(PortalView, FormView):
    """Gives a technician a sign-in, or a new password, and shows the one-time password this once."""

    permission_required = "accounts.add_user"
    template_name = "jobs/technician_sign_in.html"
    form_class = NewSignInForm

    @cached_property
    def technician(self) -> Technician:
        """Whose sign-in it is."""
        return get_object_or_404(Technician.objects.select_related("user"), pk=self.kwargs["technician_pk"])

    def post(self, *args: Any, **kwargs: Any) -> HttpResponse:
        if self.technician.user:
            return self._show(
                password_renew(by=self.request.user, user=self.technician.user, role=Role.TECHNICIAN)
            )
        return super().post(*args, **kwargs)

    def form_valid(self, form: NewSignInForm) -> HttpResponse:
        try:
            sign_in = self._give(form.cleaned_data["email"])
        except ValidationError as error:
            for message in error.messages:
                form.add_error("email", f"{message} You gave “{form.cleaned_data['email']}”.")
            return self.form_invalid(form)
        return self._show(sign_in)

    @transaction.atomic
    def _give(self, email: str) -> SignIn:
        by, technician = self.request.user, self.technician
        sign_in = sign_in_open(by=by, full_name=technician.full_name, email=email, role=Role.TECHNICIAN)
        technician_change(by=by, technician=technician, user=sign_in.user)
        return sign_in

    def _show(self, sign_in: SignIn) -> HttpResponse:
        context = {
            "technician": self.technician,
            "sign_in": sign_in,
            "crumbs": technician_crumbs(self.technician),
        }
        return render(self.request, "jobs/technician_password.html", context)

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        crumbs = technician_crumbs(self.technician)
        return super().get_context_data(technician=self.technician, crumbs=crumbs, **kwargs)
