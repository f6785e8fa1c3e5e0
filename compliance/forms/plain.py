"""Forms whose every box is a select or a line, laid out by the page; and those of them by which a list is narrowed."""

from typing import Any

from django import forms

from jobs.forms.messages import NamedValues


class PlainForm(NamedValues, forms.Form):
    """A form whose boxes carry the page frame's classes."""

    use_required_attribute = False

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, label_suffix="", **kwargs)
        self.dress()

    def dress(self) -> None:
        """Give each box its class; who adds boxes calls it again."""
        for field in self.fields.values():
            is_select = isinstance(field.widget, forms.Select)
            field.widget.attrs["class"] = "form-select" if is_select else "form-control"


class ListFilterForm(PlainForm):
    """Search words and filters of a list, all optional, sent by GET; a box that can't be read narrows nothing."""

    q = forms.CharField(label="Search", required=False, max_length=200)

    @property
    def is_narrowed(self) -> bool:
        """Whether anything is chosen or couldn't be read."""
        return bool(self.errors) or any(self.cleaned_data.values())
