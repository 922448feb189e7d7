"""Which clients a person may see."""

from django.db.models import QuerySet

from wintering.clients.models import Client
from wintering.people.models import User


def clients_for(user: User) -> QuerySet[Client]:
    """Those who work here see every client; a client sees only themself."""
    if user.is_staffing:
        return Client.objects.all()
    return Client.objects.filter(user=user) if user.is_active else Client.objects.none()
