"""The one announcement that jobs makes: a service event was filed.

Sent inside the filing transaction with ``event`` (the ServiceEvent) and ``filed_at``; what
listens must be quick, and its failure undoes the filing.
"""

from django.dispatch import Signal

service_event_filed = Signal()
