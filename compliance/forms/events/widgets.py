"""Widgets with targets for a gloved thumb, and selects whose options carry figures for the page's help."""

from collections.abc import Mapping
from typing import Any

from django import forms


class Tiles(forms.RadioSelect):
    """One of several, each a large tile."""

    template_name = "compliance/widgets/tiles.html"


class CheckTiles(forms.CheckboxSelectMultiple):
    """Any of several, each a large tile."""

    template_name = "compliance/widgets/tiles.html"


class SuggestingInput(forms.TextInput):
    """A text box that suggests usual answers and takes any."""

    template_name = "compliance/widgets/suggesting_input.html"

    def __init__(self, suggestions: tuple[str, ...], attrs: dict[str, Any] | None = None) -> None:
        super().__init__({"autocomplete": "off", **(attrs or {})})
        self.suggestions = suggestions

    def get_context(self, name: str, value: Any, attrs: dict[str, Any] | None) -> dict[str, Any]:
        context = super().get_context(name, value, attrs)
        list_id = f"{context['widget']['attrs'].get('id', name)}_list"
        context["widget"]["attrs"]["list"] = list_id
        context["widget"] |= {"suggestions": self.suggestions, "list_id": list_id}
        return context


class TellingSelect(forms.Select):
    """A select whose options carry data attributes, read by the page's help and by nothing else."""

    def __init__(self, data: Mapping[str, Mapping[str, str]], **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.data = data

    def create_option(self, name: str, value: Any, *args: Any, **kwargs: Any) -> dict[str, Any]:
        option = super().create_option(name, value, *args, **kwargs)
        option["attrs"] |= self.data.get(str(value), {})
        return option
