"""Which frames a person may see."""

from django.db.models import QuerySet

from wintering.frames.models import Frame
from wintering.people.models import User


def frames_for(user: User) -> QuerySet[Frame]:
    """Those who work here see every frame; clients only their trees' places."""
    return Frame.objects.all() if user.is_staffing else Frame.objects.none()
