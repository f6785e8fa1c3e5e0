"""Addresses of the reports and the record packs."""

from django.urls import path, re_path

from compliance.views import filing_papers, record_packs, reports

urlpatterns = [
    path("packs/", record_packs.RecordPackListView.as_view(), name="record-pack-list"),
    path("packs/<int:pk>/", record_packs.RecordPackView.as_view(), name="record-pack"),
    path("packs/<int:pk>/retry/", record_packs.RecordPackRetryView.as_view(), name="record-pack-retry"),
    path("packs/<int:pk>.zip", record_packs.RecordPackFileView.as_view(), name="record-pack-file"),
    path(
        "appliances/<int:pk>/papers/<slug:slug>.pdf",
        filing_papers.FilingPaperView.as_view(),
        name="filing-paper",
    ),
    path("reports/", reports.ReportListView.as_view(), name="report-list"),
    path("reports/runs/<int:pk>/", reports.ReportRunView.as_view(), name="report-run"),
    path("reports/runs/<int:pk>/retry/", reports.ReportRunRetryView.as_view(), name="report-run-retry"),
    re_path(
        r"^reports/runs/(?P<pk>\d+)\.(?P<form>pdf|csv|zip|xlsx)$",
        reports.ReportRunFileView.as_view(),
        name="report-run-file",
    ),
    path("reports/<slug:slug>/", reports.ReportView.as_view(), name="report"),
    path("reports/<slug:slug>/run/", reports.ReportRunAddView.as_view(), name="report-run-add"),
    re_path(
        r"^reports/(?P<slug>[a-z-]+)\.(?P<form>csv|zip|xlsx)$",
        reports.ReportFileView.as_view(),
        name="report-file",
    ),
]
