"""Addresses of the board, appliances, the what-if, reminders and the system's status."""

from django.urls import URLPattern, path

from compliance.views import (
    acknowledgements,
    appliances,
    assignments,
    board,
    calendar_feeds,
    expiries,
    forecasts,
    obligations,
    reminder_plans,
    reminder_preferences,
    reminders,
    rule_tables,
    status,
    what_if,
)

urlpatterns: list[URLPattern] = [
    path("board/", board.BoardView.as_view(), name="board"),
    path("board/calendar/", board.BoardCalendarView.as_view(), name="board-calendar"),
    path("board/running-out/", expiries.ExpiryListView.as_view(), name="expiry-list"),
    path("board.csv", board.BoardExportView.as_view(), {"suffix": "csv"}, name="board-csv"),
    path("board.xlsx", board.BoardExportView.as_view(), {"suffix": "xlsx"}, name="board-xlsx"),
    path("obligations/<int:pk>/assign/", assignments.AssignView.as_view(), name="obligation-assign"),
    path("obligations/<int:pk>/", obligations.ObligationDetailView.as_view(), name="obligation-detail"),
    path("appliances/<int:pk>/", appliances.ApplianceDetailView.as_view(), name="appliance-detail"),
    path("forecast/", forecasts.ForecastListView.as_view(), name="forecast-list"),
    path("what-if/", what_if.WhatIfView.as_view(), name="what-if"),
    path("appliances/<int:pk>.pdf", appliances.AppliancePdfView.as_view(), name="appliance-pdf"),
    path("reminders/", reminders.ReminderListView.as_view(), name="reminder-list"),
    path("reminders/read/", reminders.ReminderReadAllView.as_view(), name="reminder-read-all"),
    path("reminders/log/", reminders.ReminderLogView.as_view(), name="reminder-log"),
    path(
        "reminders/mine/", reminder_preferences.ReminderPreferenceView.as_view(), name="reminder-preference"
    ),
    path("reminders/mine/calendar/on/", calendar_feeds.CalendarFeedOnView.as_view(), name="calendar-feed-on"),
    path(
        "reminders/mine/calendar/renew/",
        calendar_feeds.CalendarFeedRenewView.as_view(),
        name="calendar-feed-renew",
    ),
    path(
        "reminders/mine/calendar/off/", calendar_feeds.CalendarFeedOffView.as_view(), name="calendar-feed-off"
    ),
    path("calendar/<str:token>.ics", calendar_feeds.calendar_feed, name="calendar-feed"),
    path("reminders/plans/", reminder_plans.ReminderPlanListView.as_view(), name="reminder-plan-list"),
    path("reminders/plans/<slug:kind>/", reminder_plans.ReminderPlanView.as_view(), name="reminder-plan"),
    path("reminders/<int:pk>/read/", reminders.ReminderReadView.as_view(), name="reminder-read"),
    path(
        "reminders/<int:pk>/acknowledge/",
        acknowledgements.AcknowledgeView.as_view(),
        name="reminder-acknowledge",
    ),
    path(
        "reminders/acknowledge/<str:token>/",
        acknowledgements.acknowledge_by_link,
        name="reminder-acknowledge-link",
    ),
    path("reminders/<int:pk>/retry/", reminders.ReminderRetryView.as_view(), name="reminder-retry"),
    path("rules/", rule_tables.RuleTablesView.as_view(), name="rule-tables"),
    path("status/", status.StatusView.as_view(), name="status"),
]
