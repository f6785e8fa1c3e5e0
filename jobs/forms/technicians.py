"""Forms of technicians, their certificates and their sign-in."""

from crispy_forms.layout import Fieldset
from django import forms

from jobs.forms.layout import DateField, RegisterForm, page_helper, side_by_side
from jobs.forms.messages import NamedValues
from jobs.models import Certification, Technician

LAST_DAY = "Empty where it prints none. Certificates of sections 608 and 609 have none (40 CFR 82.161)."
REFRESHER = (
    "Training or evaluation, at least every 7 years for certificates of the European Union "
    "(Regulation (EU) 2024/573 Art. 10(9))."
)


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
    """A certificate as it is printed, and its last refresher where its law asks for one."""

    issued_on = DateField(label="Issued on")
    expires_on = DateField(label="Last day printed on it", required=False, help_text=LAST_DAY)
    refreshed_on = DateField(label="Last refresher on", required=False, help_text=REFRESHER)

    fieldsets = (
        Fieldset("Certificate", "type", "number", "issuer", "issued_on"),
        Fieldset("How long it counts", side_by_side("expires_on", "refreshed_on")),
    )

    class Meta:
        model = Certification
        fields = ("type", "number", "issuer", "issued_on", "expires_on", "refreshed_on")
        help_texts = {"issuer": "The certifying organization, as printed on the card."}


class CertificationRenewalForm(RegisterForm):
    """What comes later in a certificate's life: a refresher, a new last day, or its end."""

    expires_on = CertificationForm.base_fields["expires_on"]
    refreshed_on = CertificationForm.base_fields["refreshed_on"]
    ended_on = DateField(
        label="No longer counts from",
        required=False,
        help_text="Revoked, given up, or replaced by another. Nobody is reminded of it any more.",
    )

    fieldsets = (
        Fieldset("How long it counts", side_by_side("expires_on", "refreshed_on")),
        Fieldset("Its end", "ended_on", "ended_because"),
    )

    class Meta:
        model = Certification
        fields = ("expires_on", "refreshed_on", "ended_on", "ended_because")
        labels = {"ended_because": "Why it no longer counts"}


class NewSignInForm(NamedValues, forms.Form):
    """The e-mail address with which a technician will sign in."""

    use_required_attribute = False
    email = forms.EmailField(label="E-mail address", help_text="The technician signs in with it.")

    def __init__(self, *args: object, **kwargs: object) -> None:
        super().__init__(*args, **kwargs)
        self.helper = page_helper(Fieldset("Sign-in", "email"))
