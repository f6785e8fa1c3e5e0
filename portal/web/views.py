"""The base of every page's view, and the home page."""

from typing import Any

from django.contrib.auth.mixins import PermissionRequiredMixin
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.generic import ListView, View

from portal.accounts.models import Role

PAGE_SIZE = 25

HOME_PAGES = (
    (Role.COMPLIANCE_OFFICER, "board"),
    (Role.OFFICE_ADMIN, "customer-list"),
    (Role.TECHNICIAN, "event-pick"),
)


class PortalView(PermissionRequiredMixin):
    """A page for people who are signed in and hold ``permission_required``, which each view names.

    Strangers are sent to the sign-in page; people without the permission get the 403 page.
    """


class PortalListView(PortalView, ListView):
    """A register's list: searched by ``?q=``, paged by ``?page=``."""

    paginate_by = PAGE_SIZE

    @property
    def query(self) -> str:
        """What was searched for."""
        return self.request.GET.get("q", "").strip()

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        return super().get_context_data(query=self.query, **kwargs)


class HomeView(View):
    """Sends each person to the page of their role; open to everyone who is signed in."""

    def get(self, request: HttpRequest) -> HttpResponse:
        for role, page in HOME_PAGES:
            if request.user.has_role(role):
                return redirect(page)
        if request.user.is_superuser:
            return redirect("customer-list")
        return render(request, "web/home_no_role.html", status=403)
