"""Customers and their sites, with how much equipment each has."""

from django.db.models import Count, Q, QuerySet

from jobs.models import Customer, Site


def customer_list(*, search: str = "") -> QuerySet[Customer]:
    """List customers with ``site_count`` and ``appliance_count``.

    Args:
        search: part of a name, contact, e-mail address, or of a site's name or city; all unless given.
    """
    customers = Customer.objects.all()
    if search := search.strip():
        wanted = (
            Q(name__icontains=search)
            | Q(contact_name__icontains=search)
            | Q(email__icontains=search)
            | Q(sites__name__icontains=search)
            | Q(sites__city__icontains=search)
        )
        # By key, so that the match on sites doesn't narrow what is counted.
        customers = customers.filter(pk__in=Customer.objects.filter(wanted).values("pk"))
    return customers.annotate(
        site_count=Count("sites", distinct=True), appliance_count=Count("sites__appliances", distinct=True)
    ).order_by("name")


def site_list(*, customer: Customer | None = None, search: str = "") -> QuerySet[Site]:
    """List sites, of one customer or of all, with ``appliance_count``.

    Args:
        customer: of this one alone; of all unless given.
        search: part of a name, street, city or customer; all unless given.
    """
    sites = Site.objects.select_related("customer")
    if customer is not None:
        sites = sites.filter(customer=customer)
    if search := search.strip():
        sites = sites.filter(
            Q(name__icontains=search)
            | Q(street__icontains=search)
            | Q(city__icontains=search)
            | Q(customer__name__icontains=search)
        )
    return sites.annotate(appliance_count=Count("appliances")).order_by("customer__name", "name")
