"""Whether the program works, for whoever watches the machine."""

import shutil
from datetime import datetime

from django.conf import settings
from django.contrib.auth.decorators import login_not_required
from django.db import DatabaseError
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from wintering.climate.queries import last_reading_at
from wintering.forecast.queries import last_judged_at

# A winter's logs and photos fit in this; below it the next write may fail. Own choice.
LEAST_FREE_MB = 200


@login_not_required  # a watching program cannot sign in; nothing here is private
@never_cache
@require_safe
def health(request: HttpRequest) -> HttpResponse:
    free_mb = shutil.disk_usage(settings.DATA_DIR).free // 1_000_000
    try:
        found = {
            "database": "answers",
            "last_reading": _text(last_reading_at(timezone.now())),
            "last_judged": _text(last_judged_at()),
        }
    except DatabaseError:
        found = {
            "database": "does not answer",
            "last_reading": None,
            "last_judged": None,
        }
    is_well = found["database"] == "answers" and free_mb >= LEAST_FREE_MB
    answer = {
        "well": is_well,
        **found,
        "disk_free_mb": free_mb,
        "disk_needed_mb": LEAST_FREE_MB,
    }
    return JsonResponse(answer, status=200 if is_well else 503)


def _text(at: datetime | None) -> str | None:
    return at.isoformat() if at else None
