"""The site's addresses: each room's urls under its own prefix."""

from django.contrib import admin
from django.urls import include, path

from portal.health import health, task_health

handler500 = "portal.web.failures.page_failed"

urlpatterns = [
    path("healthz", health, name="health"),
    path("healthz/tasks", task_health, name="task-health"),
    path("", include("portal.web.urls")),
    path("", include("portal.accounts.urls")),
    path("", include("compliance.urls")),
    path("", include("jobs.urls")),
    path("admin/", admin.site.urls),
]
