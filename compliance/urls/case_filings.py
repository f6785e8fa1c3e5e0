"""Addresses of the filings about a case."""

from django.urls import URLPattern, path

from compliance.views import case_filings

urlpatterns: list[URLPattern] = [
    path(
        "appliances/<int:appliance_pk>/filings/add/",
        case_filings.FilingPickView.as_view(),
        name="filing-pick",
    ),
    path(
        "appliances/<int:appliance_pk>/filings/<slug:kind>/add/",
        case_filings.FilingAddView.as_view(),
        name="filing-add",
    ),
    path("filings/<int:pk>/", case_filings.FilingDetailView.as_view(), name="filing-detail"),
    path("filings/<int:pk>/amend/", case_filings.FilingAmendView.as_view(), name="filing-amend"),
    path("filings/<int:pk>/withdraw/", case_filings.FilingWithdrawView.as_view(), name="filing-withdraw"),
    path(
        "filings/<int:pk>/documents/<int:position>/",
        case_filings.FilingDocumentView.as_view(),
        name="filing-document",
    ),
]
