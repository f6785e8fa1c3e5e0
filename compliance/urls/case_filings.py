"""Addresses of the filings about a case, and of records about a facility's leak rate method."""

from django.urls import URLPattern, path

from compliance.views import case_filings, method_changes, method_corrections

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
    path("filings/<int:pk>.pdf", case_filings.FilingPdfView.as_view(), name="filing-pdf"),
    path("filings/<int:pk>/amend/", case_filings.FilingAmendView.as_view(), name="filing-amend"),
    path("filings/<int:pk>/withdraw/", case_filings.FilingWithdrawView.as_view(), name="filing-withdraw"),
    path(
        "filings/<int:pk>/documents/<int:position>/",
        case_filings.FilingDocumentView.as_view(),
        name="filing-document",
    ),
    path(
        "sites/<int:site_pk>/leak-rate-method/",
        method_changes.MethodChangeAddView.as_view(),
        name="method-change-add",
    ),
    path(
        "method-changes/<int:pk>/",
        method_changes.MethodChangeDetailView.as_view(),
        name="method-change-detail",
    ),
    path(
        "method-changes/<int:pk>/amend/",
        method_changes.MethodChangeAmendView.as_view(),
        name="method-change-amend",
    ),
    path(
        "method-changes/<int:pk>/withdraw/",
        method_changes.MethodChangeWithdrawView.as_view(),
        name="method-change-withdraw",
    ),
    path(
        "sites/<int:site_pk>/leak-rate-method/correct/",
        method_corrections.MethodCorrectionAddView.as_view(),
        name="method-correction-add",
    ),
    path(
        "method-corrections/<int:pk>/",
        method_corrections.MethodCorrectionDetailView.as_view(),
        name="method-correction-detail",
    ),
    path(
        "method-corrections/<int:pk>/amend/",
        method_corrections.MethodCorrectionAmendView.as_view(),
        name="method-correction-amend",
    ),
    path(
        "method-corrections/<int:pk>/withdraw/",
        method_corrections.MethodCorrectionWithdrawView.as_view(),
        name="method-correction-withdraw",
    ),
]
