"""Configuration of the compliance application."""

from django.apps import AppConfig


class ComplianceConfig(AppConfig):
    name = "compliance"
    verbose_name = "Compliance"

    def ready(self) -> None:
        """Assess each appliance whose event is filed, and have its record sent, in the transaction that files it."""
        from compliance.services.assessments import filed_event_assess  # noqa: PLC0415 -- models come first
        from compliance.services.records import filed_event_hand_over  # noqa: PLC0415
        from jobs.signals import service_event_filed  # noqa: PLC0415

        service_event_filed.connect(filed_event_assess, dispatch_uid="compliance.filed_event_assess")
        service_event_filed.connect(filed_event_hand_over, dispatch_uid="compliance.filed_event_hand_over")
