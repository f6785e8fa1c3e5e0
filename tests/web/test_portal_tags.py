"""The frame's template tags."""

import pytest
from django import forms
from django.core.paginator import Paginator
from django.template import Context, Template
from django.test import RequestFactory

from portal.web.templatetags.portal_tags import STATUS_WORDS


def rendered(text: str, **context: object) -> str:
    return Template("{% load portal_tags %}" + text).render(Context(context)).strip()


# 7 lb are 3 175 146.59 mg (NIST Handbook 44, appendix C).
@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ('{{ m|mass:"lb" }}', "7.000\u00a0lb"),
        ("{{ m|mass }}", "7.000\u00a0lb"),
        ('{{ m|mass:"kg" }}', "3.175\u00a0kg"),
        ("{{ m|mass_both }}", "7.000\u00a0lb (3.175\u00a0kg)"),
        ("{{ nothing|mass }}", "–"),
        ("{{ nothing|mass_both }}", "–"),
        ("{{ zero|mass }}", "0.000\u00a0lb"),
        ("{{ rest|mass }}", "0.000002\u00a0lb"),
        ('{{ rest|mass:"kg" }}', "0.000001\u00a0kg"),
        ("{{ m|mass_signed }}", "+7.000\u00a0lb"),
        ("{{ less|mass_signed }}", "−7.000\u00a0lb"),
        ("{{ zero|mass_signed }}", "0.000\u00a0lb"),
        ("{{ rest|mass_signed }}", "+0.000002\u00a0lb"),
    ],
)
def test_a_mass_is_written_with_its_unit(text: str, shown: str) -> None:
    assert rendered(text, m=3_175_147, less=-3_175_147, zero=0, rest=1, nothing=None) == shown


@pytest.mark.parametrize("status", STATUS_WORDS)
def test_a_status_is_a_shape_and_a_word(status: str) -> None:
    html = rendered("{% status_badge s %}", s=status)

    assert html == f'<span class="status status-{status.replace("_", "-")}">{STATUS_WORDS[status]}</span>'


def test_a_status_takes_other_words_and_escapes_them() -> None:
    assert "Due in &lt;3&gt; days" in rendered("{% status_badge 'due_soon' w %}", w="Due in <3> days")


def test_page_links_keep_the_rest_of_the_query() -> None:
    request = RequestFactory().get("/", {"q": "a&b", "page": "2"})
    page = Paginator(range(7), 3).page(2)

    html = rendered("{% page_links page %}", request=request, page=page)

    assert 'href="?q=a%26b&amp;page=1"' in html
    assert 'href="?q=a%26b&amp;page=3"' in html
    assert "4–6 of 7" in html


def test_page_links_are_nothing_for_a_single_page() -> None:
    page = Paginator(range(3), 3).page(1)

    assert not rendered("{% page_links page %}", request=RequestFactory().get("/"), page=page)


class VisitForm(forms.Form):
    happened_on = forms.DateField(label="Date")

    def clean(self) -> None:
        self.add_error(None, "Nothing was done <b>at all</b>.")


def test_form_errors_lead_to_the_fields_that_are_refused() -> None:
    html = rendered("{% form_errors form %}", form=VisitForm({"happened_on": "x"}))

    assert '<a href="#id_happened_on">Date</a>' in html
    assert "Nothing was done &lt;b&gt;at all&lt;/b&gt;." in html
    assert 'role="alert"' in html


def test_form_errors_are_nothing_for_a_form_without_any() -> None:
    assert not rendered("{% form_errors form %}", form=VisitForm())


def test_a_field_s_errors_have_the_name_that_the_field_points_at() -> None:
    form = VisitForm({"happened_on": "x"})

    assert 'aria-describedby="id_happened_on_error"' in str(form["happened_on"])
    assert 'id="id_happened_on_error"' in rendered("{% field_errors form.happened_on %}", form=form)
