"""The base of every page's view, the home page and the mailbox."""

import io
from pathlib import Path
from typing import Any

from django.conf import settings
from django.contrib.auth.decorators import login_not_required
from django.contrib.auth.mixins import PermissionRequiredMixin
from django.core.paginator import Paginator
from django.db.models.fields.files import FieldFile
from django.http import FileResponse, Http404, HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import redirect, render
from django.templatetags.static import static
from django.views.generic import ListView, View

from portal.accounts.models import Role
from portal.web.letters import letter_names, read_attachment, read_letter, read_letter_text

PAGE_SIZE = 25

HOME_PAGES = (
    (Role.COMPLIANCE_OFFICER, "board"),
    (Role.OFFICE_ADMIN, "customer-list"),
    (Role.TECHNICIAN, "event-pick"),
)


class PortalView(PermissionRequiredMixin):
    """A page for people who are signed in and hold ``permission_required``, which each view names.

    Strangers are sent to the sign-in page; people without the permission get the 403 page. Who still has a
    one-time password is sent to choose one.
    """

    def dispatch(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        if getattr(request.user, "has_one_time_password", False):
            return redirect("password-change")
        return super().dispatch(request, *args, **kwargs)


class PortalListView(PortalView, ListView):
    """A register's list: searched by ``?q=``, paged by ``?page=``."""

    paginate_by = PAGE_SIZE

    @property
    def query(self) -> str:
        """What was searched for."""
        return self.request.GET.get("q", "").strip()

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        return super().get_context_data(query=self.query, **kwargs)


def kept_file(file: FieldFile, **options: Any) -> FileResponse:
    """Give out a file that the portal keeps; where it is gone from its folder, there is no such page.

    Args:
        file: of a row.
        options: as of FileResponse: its name and type.
    """
    try:
        content = file.open("rb")
    except FileNotFoundError as error:
        raise Http404 from error
    return FileResponse(content, **options)


class HomeView(View):
    """Sends each person to the page of their role; open to everyone who is signed in."""

    def get(self, request: HttpRequest) -> HttpResponse:
        for role, page in HOME_PAGES:
            if request.user.has_role(role):
                return redirect(page)
        if request.user.is_superuser:
            return redirect("customer-list")
        return render(request, "web/home_no_role.html", status=403)


@login_not_required
def favicon(request: HttpRequest) -> HttpResponse:
    """Lead to the mark; a browser asks here beside a PDF, which names no icon."""
    return redirect(static("web/mark.svg"))


class MailboxView(PortalView, View):
    """Messages of the mailbox folder, newest first; says so where mail goes out by SMTP instead."""

    permission_required = "accounts.view_mailbox"

    def get(self, request: HttpRequest) -> HttpResponse:
        is_folder = settings.EMAIL_BACKEND.startswith("portal.web.mailbox.")
        folder = Path(settings.MAILBOX_DIR)
        page_obj = Paginator(letter_names(folder) if is_folder else [], PAGE_SIZE).get_page(
            request.GET.get("page")
        )
        letters = [read_letter(folder, name) for name in page_obj]
        context = {"is_folder": is_folder, "letters": letters, "page_obj": page_obj}
        return render(request, "web/mailbox.html", context)


class LetterView(PortalView, View):
    """One message of the mailbox folder, its text shown as text."""

    permission_required = "accounts.view_mailbox"

    def get(self, request: HttpRequest, name: str) -> HttpResponse:
        try:
            letter = read_letter_text(Path(settings.MAILBOX_DIR), name)
        except FileNotFoundError as error:
            raise Http404 from error
        return render(request, "web/letter.html", {"message_text": letter, "letter": letter.letter})


class AttachmentView(PortalView, View):
    """What hangs on a message, to be saved; a browser never runs it."""

    permission_required = "accounts.view_mailbox"

    def get(self, request: HttpRequest, name: str, position: int) -> FileResponse:
        try:
            filename, content = read_attachment(Path(settings.MAILBOX_DIR), name, position)
        except FileNotFoundError as error:
            raise Http404 from error
        return FileResponse(
            io.BytesIO(content),
            as_attachment=True,
            filename=filename,
            content_type="application/octet-stream",
        )
