"""Addresses of the reports."""

from django.urls import path

from compliance.views import reports

urlpatterns = [
    path("reports/", reports.ReportListView.as_view(), name="report-list"),
    path("reports/<int:pk>.pdf", reports.ReportDownloadView.as_view(), name="report-download"),
    path(
        "reports/annual-leak-rate/",
        reports.AnnualReportView.as_view(),
        name="annual-leak-rate-report",
    ),
    path(
        "reports/annual-leak-rate/pdf/",
        reports.AnnualReportPdfView.as_view(),
        name="annual-leak-rate-pdf",
    ),
    path(
        "reports/annual-leak-rate.csv",
        reports.AnnualReportCsvView.as_view(),
        name="annual-leak-rate-csv",
    ),
    path(
        "reports/annual-leak-rate.xlsx",
        reports.AnnualReportXlsxView.as_view(),
        name="annual-leak-rate-xlsx",
    ),
]
