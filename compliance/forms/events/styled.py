"""How the event forms look, and what makes a row of theirs count as left blank."""

from typing import Any, ClassVar

from django import forms

SELECTS = (forms.Select,)
PLAIN = (forms.TextInput, forms.Textarea, forms.DateInput)


class StyledForm(forms.Form):
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
        return all(not self.fields[name].has_changed(None, self._entered(name)) for name in self.telling)

    def _entered(self, name: str) -> Any:
        widget = self.fields[name].widget
        if self.is_bound:
            return widget.value_from_datadict(self.data, self.files, self.add_prefix(name))
        initial = self.get_initial_for_field(self.fields[name], name)
        is_whole = isinstance(widget, forms.MultiWidget) and not isinstance(initial, list)
        return widget.decompress(initial) if is_whole else initial
