"""Says to a monitor whether the portal can serve: open to all, names no figure of the firm's."""

from collections.abc import Callable

from django.contrib.auth.decorators import login_not_required
from django.core.cache import cache
from django.db import connection
from django.http import HttpRequest, JsonResponse
from django.utils import timezone
from django.views.decorators.cache import never_cache

from compliance.selectors.task_runs import scheduled_tasks, sweep_watch
from portal.celery import app


def _database() -> None:
    with connection.cursor() as cursor:
        cursor.execute("SELECT 1")


def _cache() -> None:
    cache.set("healthz", "here", timeout=10)


def _broker() -> None:
    with app.connection_for_write() as broker:
        broker.ensure_connection(max_retries=1, timeout=2)


PARTS: dict[str, Callable[[], None]] = {"database": _database, "cache": _cache, "broker": _broker}


@never_cache
@login_not_required
def health(request: HttpRequest) -> JsonResponse:
    """Answer 200 when every part works, otherwise 503 naming the parts that don't."""
    parts = {name: _state(check) for name, check in PARTS.items()}
    is_well = set(parts.values()) == {"ok"}
    return JsonResponse({"status": "ok" if is_well else "failing", **parts}, status=200 if is_well else 503)


@never_cache
@login_not_required
def task_health(request: HttpRequest) -> JsonResponse:
    """Answer 200 while every scheduled task runs in time, otherwise 503 naming those that are late.

    An address of its own: a web server can serve though the scheduler is down, and should then be asked on.
    """
    now = timezone.now()
    late = [task.title for task in scheduled_tasks(now) if task.is_late]
    watch = sweep_watch(now)
    if watch.is_stuck:
        late.append(f"{watch.task.title}: not done")
    return JsonResponse({"status": "late" if late else "ok", "late": late}, status=503 if late else 200)


def _state(check: Callable[[], None]) -> str:
    try:
        check()
    except Exception as error:  # noqa: BLE001 -- whatever goes wrong is the answer
        return f"failing ({type(error).__name__})"
    return "ok"
