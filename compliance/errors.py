"""What the compliance services refuse, each with a sentence for a person."""

from jobs.errors import ApplicationError
from jobs.models import Customer


class CustomerHasNoAddress(ApplicationError):
    """A record was to be sent to a customer without an e-mail address."""

    def __init__(self, customer: Customer) -> None:
        super().__init__(f"{customer} has no e-mail address; add one to the customer, or hand over the PDF.")
