"""Addresses of the compliance pages."""

from compliance.urls.board import urlpatterns as board_urls
from compliance.urls.case_filings import urlpatterns as filing_urls
from compliance.urls.events import urlpatterns as event_urls
from compliance.urls.reports import urlpatterns as report_urls

urlpatterns = [*board_urls, *event_urls, *filing_urls, *report_urls]
