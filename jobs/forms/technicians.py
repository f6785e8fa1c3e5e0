"""Forms of technicians, their certificates and their sign-in."""

from crispy_forms.layout import Fieldset
from django import forms

from jobs.forms.layout import DateField, RegisterForm, page_helper
from jobs.forms.messages import NamedValues
from jobs.models import Certification, Technician


class TechnicianForm(RegisterForm):
    """A person who handles refrigerant."""

    apprentice_registered_on = DateField(
        label="Apprenticeship registered on",
        required=False,
        help_text="The exemption ends two years after the first registration (40 CFR 82.161(a)).",
    )

    fieldsets = (
        Fieldset("Person", "full_name", "phone", "is_active"),
        Fieldset("Apprenticeship", "is_apprentice", "apprentice_registered_on"),
    )

    class Meta:
        model = Technician
        fields = ("full_name", "phone", "is_active", "is_apprentice", "apprentice_registered_on")
        help_texts = {
            "full_name": "As on the certificate.",
            "is_active": "Turned off, the person's sign-in is closed; what they filed stays.",
            "is_apprentice": "Works under close supervision of a certified technician (40 CFR 82.161(a)).",
        }


class CertificationForm(RegisterForm):
    """A certificate under 40 CFR 82.161; it has no expiry."""

    issued_on = DateField(label="Issued on")

    fieldsets = (Fieldset("Certificate", "type", "number", "issuer", "issued_on"),)

    class Meta:
        model = Certification
        fields = ("type", "number", "issuer", "issued_on")
        help_texts = {"issuer": "The certifying organization, as printed on the card."}


class NewSignInForm(NamedValues, forms.Form):
    """The e-mail address with which a technician will sign in."""

    use_required_attribute = False
    email = forms.EmailField(label="E-mail address", help_text="The technician signs in with it.")

    def __init__(self, *args: object, **kwargs: object) -> None:
        super().__init__(*args, **kwargs)
        self.helper = page_helper(Fieldset("Sign-in", "email"))
