"""Forms of filings, built from what each kind asks for; what isn't asked for in the end is left out."""

import uuid
from collections.abc import Iterator
from typing import Any

from crispy_forms.layout import Div, Fieldset
from django import forms
from django.core.files.uploadedfile import UploadedFile

from compliance.rulebook.errors import InvalidInput
from compliance.rulebook.filings.details import LINE_LENGTH_MAX, TEXT_LENGTH_MAX
from compliance.rulebook.filings.situation import Situation
from compliance.rulebook.filings.specs import EvidenceField, EvidenceType, FilingSpec
from compliance.rulebook.refrigerants import find
from compliance.selectors.filing_prefill import visit_options
from compliance.services.case_filings import DOCUMENT_BYTES_MAX, DOCUMENTS_MAX, NOTE_LENGTH_MAX, Document
from jobs.forms.layout import CHOOSE, DateField, page_helper
from jobs.forms.masses import MassField
from jobs.forms.messages import NamedValues
from jobs.forms.refrigerants import RefrigerantField
from jobs.services.entries import EnteredMass
from jobs.services.log_uploads import shown_name

# So many choices stand side by side; more of them, and units, in a list.
RADIOS_MAX = 7
SIGNED_AND_SENT = ("signed_by", "sent_by", "receipt_number")
VISITS = (EvidenceType.VISIT_THAT_REMOVED, EvidenceType.VISIT_THAT_ADDED)


class DocumentsInput(forms.ClearableFileInput):
    """A box that takes several files."""

    allow_multiple_selected = True


class DocumentsField(forms.FileField):
    """Documents as they came, none, one or several."""

    widget = DocumentsInput

    def clean(self, data: Any, initial: Any = None) -> list[UploadedFile]:
        """Check each file by itself."""
        files = data if isinstance(data, list | tuple) else [data]
        return [super(DocumentsField, self).clean(file, initial) for file in files if file]


class CaseFilingForm(NamedValues, forms.Form):
    """The evidence of one kind of filing, its day, a note and documents."""

    use_required_attribute = False

    submission_id = forms.UUIDField(widget=forms.HiddenInput, initial=uuid.uuid4)
    happened_on = DateField()
    note = forms.CharField(
        label="Note", required=False, max_length=NOTE_LENGTH_MAX, widget=forms.Textarea({"rows": 2})
    )
    documents = DocumentsField(
        label="Documents",
        required=False,
        help_text=f"Quotes, letters, receipts: up to {DOCUMENTS_MAX} files of {DOCUMENT_BYTES_MAX // 1024**2} MB, kept "
        "as they come. If the form comes back with a question, choose them again.",
    )
    reason = forms.CharField(label="Why it is amended", widget=forms.Textarea({"rows": 2}))

    def __init__(
        self, *args: Any, spec: FilingSpec, situation: Situation, is_amendment: bool = False, **kwargs: Any
    ) -> None:
        super().__init__(*args, label_suffix="", **kwargs)
        self.spec = spec
        self.fields["happened_on"].label = spec.day_label
        if not is_amendment:
            del self.fields["reason"]
        for field in spec.fields:
            self.fields[field.name] = _form_field(field, situation)
        self.helper = page_helper(*self._fieldsets(is_amendment=is_amendment))
        self._marked = [
            self.fields[field.name]
            for field in spec.fields
            if field.is_required
            and (not field.required_by or set(field.required_by) & set(situation.applying))
        ]
        self._mark(is_required=True)

    def _mark(self, *, is_required: bool) -> None:
        for field in self._marked:
            field.required = is_required

    def _clean_fields(self) -> None:
        """Leave it to the service to say what is missing: it names the paragraph, and knows what is asked for."""
        self._mark(is_required=False)
        super()._clean_fields()
        self._mark(is_required=True)

    def _fieldsets(self, *, is_amendment: bool) -> Iterator[Fieldset]:
        own = [_laid_out(field) for field in self.spec.fields if field.name not in SIGNED_AND_SENT]
        sent = [_laid_out(field) for field in self.spec.fields if field.name in SIGNED_AND_SENT]
        yield Fieldset(self.spec.name, "submission_id", "happened_on", *own)
        if sent:
            yield _shown_with(_common(self.spec, SIGNED_AND_SENT), Fieldset("Signed and sent", *sent))
        yield Fieldset("Note and documents", "note", "documents")
        if is_amendment:
            yield Fieldset("Amendment", "reason")

    @property
    def details(self) -> dict[str, Any]:
        """The evidence in JSON's own types, without what isn't asked for."""
        plain = {field.name: _plain(field, self.cleaned_data.get(field.name)) for field in self.spec.fields}
        return {
            field.name: plain[field.name]
            for field in self.spec.fields
            if plain[field.name] not in (None, "", False) and field.is_asked(plain)
        }

    @property
    def chosen_documents(self) -> tuple[Document, ...]:
        """The documents that were chosen."""
        return tuple(
            Document(shown_name(file.name), file.content_type or "application/octet-stream", file.read())
            for file in self.cleaned_data["documents"]
        )


def initial_of(details: dict[str, Any], spec: FilingSpec) -> dict[str, Any]:
    """Stored evidence as a form stands filled with it."""
    values = dict(details)
    for field in spec.fields:
        mass = values.get(field.name)
        if field.type is EvidenceType.MASS and mass:
            values[field.name] = EnteredMass(mass["value"], mass["unit"], mass["mg"])
    return values


def _laid_out(field: EvidenceField) -> Any:
    return field.name if field.only is None else _shown_with(field.only, field.name)


def _shown_with(only: tuple[str, tuple[str, ...]] | None, part: Any) -> Any:
    """What is shown only with some choice names it, for the page's script."""
    if only is None:
        return part
    name, values = only
    return Div(part, data_only_field=name, data_only_values=",".join(values))


def _common(spec: FilingSpec, names: tuple[str, ...]) -> tuple[str, tuple[str, ...]] | None:
    """The choice with which all of these fields are asked for; ``None`` where some are without."""
    found = {field.only for field in spec.fields if field.name in names}
    return found.pop() if len(found) == 1 else None


def _form_field(field: EvidenceField, situation: Situation) -> forms.Field:
    """A field that is not required: the service says what is missing, with its paragraph."""
    common: dict[str, Any] = {"label": field.label, "help_text": field.hint, "required": False}
    if field.type is EvidenceType.LINE:
        return forms.CharField(max_length=LINE_LENGTH_MAX, **common)
    if field.type is EvidenceType.TEXT:
        return forms.CharField(max_length=TEXT_LENGTH_MAX, widget=forms.Textarea({"rows": 3}), **common)
    if field.type is EvidenceType.CHOICE:
        choices = field.offered(situation.applying)
        is_short = len(choices) <= RADIOS_MAX and not field.name.endswith("_unit")
        if is_short:
            return forms.ChoiceField(choices=choices, widget=forms.RadioSelect, **common)
        return forms.ChoiceField(choices=[("", CHOOSE), *choices], **common)
    if field.type in VISITS:
        options = visit_options(situation, field.type)
        empty = CHOOSE if field.is_required else "None"
        choices = [("", empty), *((option.reference, option.label) for option in options)]
        return forms.ChoiceField(choices=choices, **common)
    return _PLAIN_FIELDS[field.type](**common)


_PLAIN_FIELDS: dict[EvidenceType, Any] = {
    EvidenceType.DAY: DateField,
    EvidenceType.YES: forms.BooleanField,
    EvidenceType.NUMBER: lambda **common: forms.DecimalField(max_digits=12, decimal_places=3, **common),
    EvidenceType.YEAR: lambda **common: forms.IntegerField(min_value=1990, max_value=2199, **common),
    EvidenceType.REFRIGERANT: RefrigerantField,
    EvidenceType.MASS: MassField,
}


def _plain(field: EvidenceField, value: Any) -> Any:
    """A cleaned value in JSON's own types, a refrigerant as ASHRAE 34 writes it."""
    if isinstance(value, EnteredMass):
        return {"value": value.value, "unit": value.unit, "mg": value.mass_mg}
    if isinstance(value, str):
        text = "\n".join(value.split("\r\n")).strip()
        return _designation(text) if field.type is EvidenceType.REFRIGERANT else text
    if value is None or isinstance(value, bool | int):
        return value
    return value.isoformat() if hasattr(value, "isoformat") else f"{value.normalize():f}"


def _designation(text: str) -> str:
    """The refrigerant's designation; as typed where no table holds it, which the service says."""
    try:
        return find(text).designation
    except InvalidInput:
        return text


class WithdrawalForm(NamedValues, forms.Form):
    """Why a filing counts no more."""

    use_required_attribute = False

    submission_id = forms.UUIDField(widget=forms.HiddenInput, initial=uuid.uuid4)
    reason = forms.CharField(label="Why", widget=forms.Textarea({"rows": 3}))

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, label_suffix="", **kwargs)
        self.helper = page_helper(Fieldset("", "reason", "submission_id"))
