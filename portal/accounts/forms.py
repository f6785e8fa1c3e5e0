"""Forms of signing in and of one's own password."""

from typing import Any

from crispy_forms.helper import FormHelper
from django.contrib.auth.forms import AuthenticationForm, PasswordChangeForm


def bare_helper() -> FormHelper:
    """Return a helper that leaves the form tag and the buttons to the template."""
    helper = FormHelper()
    helper.form_tag = False
    return helper


class SignInForm(AuthenticationForm):
    """E-mail address and password."""

    error_messages = {
        "invalid_login": "No account has this e-mail address and password. Check both; capitals count in the password.",
        "inactive": "This account is closed. Ask the office admin.",
    }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = bare_helper()
        address = self.fields["username"]
        address.label = "E-mail address"
        address.widget.input_type = "email"
        address.widget.attrs.update(autocomplete="username", inputmode="email", autocapitalize="none")


class OwnPasswordForm(PasswordChangeForm):
    """The present password and a new one, twice."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = bare_helper()
        self.fields["old_password"].label = "Present password"
        self.fields["new_password2"].label = "New password again"
