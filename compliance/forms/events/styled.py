"""How the event forms look, and what makes a row of theirs count as left blank."""

from typing import ClassVar

from django import forms

from jobs.forms.masses import MassWidget
from jobs.forms.messages import NamedValues

SELECTS = (forms.Select,)
EMPTY = (None, "", False)
PLAIN = (forms.TextInput, forms.Textarea, forms.DateInput)


class StyledForm(NamedValues, forms.Form):
    """A form whose boxes carry the page frame's classes; templates lay the fields out."""

    use_required_attribute = False

    def dress(self) -> None:
        """Give each widget its class."""
        for field in self.fields.values():
            widget = field.widget
            for part in getattr(widget, "widgets", [widget]):
                if isinstance(part, forms.RadioSelect | forms.CheckboxSelectMultiple | forms.HiddenInput):
                    continue
                if isinstance(part, SELECTS):
                    part.attrs["class"] = "form-select"
                    # Django's own template renders a template for each option, of which the page has a thousand.
                    part.template_name = "compliance/widgets/select.html"
                elif isinstance(part, forms.CheckboxInput):
                    part.attrs["class"] = "form-check-input"
                elif isinstance(part, PLAIN):
                    part.attrs["class"] = "form-control"


class RowForm(StyledForm):
    """One of several rows. A row in which nothing that tells was entered is a blank one, and is passed over.

    ``telling`` names the fields that do; the others always stand at some value.
    """

    telling: ClassVar[tuple[str, ...]] = ()

    def has_changed(self) -> bool:
        """Say whether anything that tells was entered."""
        return not self.is_blank

    @property
    def is_blank(self) -> bool:
        """Whether the row says nothing, as it was sent or as it is first shown."""
        return not any(self._tells(name) for name in self.telling)

    def _tells(self, name: str) -> bool:
        widget = self.fields[name].widget
        if self.is_bound:
            entered = widget.value_from_datadict(self.data, self.files, self.add_prefix(name))
        else:
            entered = self.get_initial_for_field(self.fields[name], name)
        if isinstance(widget, MassWidget):
            figure, ounces, _ = entered if isinstance(entered, list) else widget.decompress(entered)
            return bool((figure or "").strip() or (ounces or "").strip())
        return entered not in EMPTY
