"""Photos: private files, handed only to those who may see the tree."""

from django.http import FileResponse, Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.views.decorators.cache import cache_control
from django.views.decorators.http import require_safe

from wintering.trees.queries import photos_for

DAY_S = 86_400


@require_safe
@cache_control(private=True, max_age=DAY_S)
def photo(request: HttpRequest, pk: int, size: str) -> HttpResponse:
    row = get_object_or_404(photos_for(request.user), pk=pk)
    file = row.small if size == "small" else row.large
    try:
        answer = FileResponse(file.open("rb"), content_type="image/jpeg")
    except FileNotFoundError as error:
        raise Http404("The file of this photo is missing.") from error
    # Only ever a picture, whatever a browser makes of the bytes.
    answer["X-Content-Type-Options"] = "nosniff"
    answer["Content-Disposition"] = f'inline; filename="{row.tree.number}-{size}.jpg"'
    return answer
