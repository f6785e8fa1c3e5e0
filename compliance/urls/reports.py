"""Addresses of the reports."""

from django.urls import path, re_path

from compliance.views import reports

urlpatterns = [
    path("reports/", reports.ReportListView.as_view(), name="report-list"),
    path("reports/runs/<int:pk>/", reports.ReportRunView.as_view(), name="report-run"),
    path("reports/runs/<int:pk>/retry/", reports.ReportRunRetryView.as_view(), name="report-run-retry"),
    re_path(
        r"^reports/runs/(?P<pk>\d+)\.(?P<form>pdf|csv|xlsx)$",
        reports.ReportRunFileView.as_view(),
        name="report-run-file",
    ),
    path("reports/<slug:slug>/", reports.ReportView.as_view(), name="report"),
    path("reports/<slug:slug>/run/", reports.ReportRunAddView.as_view(), name="report-run-add"),
    re_path(
        r"^reports/(?P<slug>[a-z-]+)\.(?P<form>csv|xlsx)$",
        reports.ReportFileView.as_view(),
        name="report-file",
    ),
]
