"""Records on paper: printed as PDF, and handed to customers by e-mail."""

from compliance.services.records.deliveries import (
    filed_event_hand_over,
    record_claim,
    record_deliver,
    record_send_again,
)

__all__ = ["filed_event_hand_over", "record_claim", "record_deliver", "record_send_again"]
