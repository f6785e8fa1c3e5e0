"""Signing in and out, and one's own password."""

from typing import Any

from django.contrib.auth.decorators import login_not_required
from django.contrib.auth.views import LoginView, LogoutView, PasswordChangeView
from django.contrib.messages.views import SuccessMessageMixin
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.urls import reverse_lazy
from django.utils.decorators import method_decorator
from django_htmx.http import HttpResponseClientRefresh

from portal.accounts.forms import OwnPasswordForm, SignInForm


@method_decorator(login_not_required, name="dispatch")
class SignInView(LoginView):
    """Public: anyone may try to sign in; axes counts the failures."""

    template_name = "accounts/sign_in.html"
    authentication_form = SignInForm
    redirect_authenticated_user = True

    def dispatch(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        """Reload the whole page when a fragment's request lands here after the session ended."""
        if request.htmx:
            return HttpResponseClientRefresh()
        return super().dispatch(request, *args, **kwargs)


class SignOutView(LogoutView):
    """By POST alone."""


class OwnPasswordView(SuccessMessageMixin, PasswordChangeView):
    """Open to everyone who is signed in."""

    template_name = "accounts/password_form.html"
    form_class = OwnPasswordForm
    success_url = reverse_lazy("home")
    success_message = "Your password is changed."

    def form_valid(self, form: OwnPasswordForm) -> HttpResponse:
        """Note that the person has chosen the password; the form saves it."""
        form.user.has_one_time_password = False
        return super().form_valid(form)
