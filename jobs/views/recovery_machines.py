"""Pages of recovery machines."""

from typing import Any

from django.db.models import QuerySet
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils.functional import cached_property

from jobs.forms.instruments import RecoveryMachineForm
from jobs.models import RecoveryMachine
from jobs.selectors.instruments import recovery_machine_list
from jobs.services.instruments import recovery_machine_change, recovery_machine_register
from jobs.views.registers import Crumb, RegisterDetailView, RegisterFormView
from portal.web.views import PortalListView


def machine_crumbs(machine: RecoveryMachine | None = None) -> list[Crumb]:
    """Return the way to a machine's page, or to the list."""
    crumbs = [("Recovery machines", reverse("recovery-machine-list"))]
    return [*crumbs, (str(machine), machine_url(machine))] if machine else crumbs


def machine_url(machine: RecoveryMachine) -> str:
    """Return a machine's page."""
    return reverse("recovery-machine-detail", args=[machine.pk])


class RecoveryMachineListView(PortalListView):
    permission_required = "jobs.view_recoverymachine"
    template_name = "jobs/recovery_machine_list.html"
    context_object_name = "machines"

    def get_queryset(self) -> QuerySet[RecoveryMachine]:
        return recovery_machine_list(search=self.query)


class RecoveryMachineDetailView(RegisterDetailView):
    permission_required = "jobs.view_recoverymachine"
    template_name = "jobs/recovery_machine_detail.html"
    context_object_name = "machine"
    queryset = RecoveryMachine.objects.all()


class RecoveryMachineAddView(RegisterFormView):
    permission_required = "jobs.add_recoverymachine"
    form_class = RecoveryMachineForm
    heading = "Add a recovery machine"
    button = "Add the machine"
    done = "{} is on record."

    def save(self, form: RecoveryMachineForm) -> RecoveryMachine:
        return recovery_machine_register(by=self.request.user, **form.cleaned_data)

    def crumbs(self) -> list[Crumb]:
        return machine_crumbs()

    def done_url(self, row: RecoveryMachine) -> str:
        return machine_url(row)


class RecoveryMachineChangeView(RecoveryMachineAddView):
    permission_required = "jobs.change_recoverymachine"
    heading = "Change the machine"
    button = "Save"
    done = "{} is changed."

    @cached_property
    def machine(self) -> RecoveryMachine:
        """The machine that is changed."""
        return get_object_or_404(RecoveryMachine, pk=self.kwargs["pk"])

    def get_form_kwargs(self) -> dict[str, Any]:
        return {**super().get_form_kwargs(), "instance": self.machine}

    def save(self, form: RecoveryMachineForm) -> RecoveryMachine:
        machine = RecoveryMachine.objects.get(pk=self.machine.pk)
        return recovery_machine_change(by=self.request.user, machine=machine, **form.cleaned_data)

    def crumbs(self) -> list[Crumb]:
        return machine_crumbs(self.machine)
