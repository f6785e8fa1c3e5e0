"""Configuration of the compliance application."""

from django.apps import AppConfig


class ComplianceConfig(AppConfig):
    name = "compliance"
    verbose_name = "Compliance"

    def ready(self) -> None:
        """In the transaction that files an event: check filings, assess the appliance, have the record sent."""
        from compliance.services.assessments import filed_event_assess  # noqa: PLC0415 -- models come first
        from compliance.services.purges import filed_event_keep_purges  # noqa: PLC0415
        from compliance.services.records import filed_event_hand_over  # noqa: PLC0415
        from jobs.signals import service_event_filed  # noqa: PLC0415

        service_event_filed.connect(
            filed_event_keep_purges, dispatch_uid="compliance.filed_event_keep_purges"
        )
        service_event_filed.connect(filed_event_assess, dispatch_uid="compliance.filed_event_assess")
        service_event_filed.connect(filed_event_hand_over, dispatch_uid="compliance.filed_event_hand_over")
