"""The site: settings, addresses, the task application, and what starts and watches them."""

from portal.celery import app as celery_app

__all__ = ("celery_app",)
