"""How pages tell of reminders and the plans that they follow."""

from django import template

from compliance.selectors import reminder_plans, reminders

register = template.Library()

register.filter("plan_in_words", reminder_plans.plan_in_words)
register.filter("reminder_page", reminders.reminder_page)
