"""Photos: checked, turned upright, freed of private data, kept in two sizes."""

import hashlib
import io
import warnings
from datetime import datetime
from typing import BinaryIO

from django.conf import settings
from django.core.exceptions import ValidationError
from django.core.files.base import ContentFile
from django.db import transaction
from django.utils import timezone
from PIL import Image, ImageOps
from pillow_heif import register_heif_opener

from wintering.people.models import User
from wintering.people.services import record
from wintering.trees.models import Photo, Tree

register_heif_opener()

PIXEL_LIMIT = 60_000_000
SIZES_PX = {"large": 2400, "small": 320}
# EXIF tags: when the shutter opened, and the older place for the same.
TAKEN_TAGS = (0x9003, 0x0132)


@transaction.atomic
def add_photo(
    *,
    tree: Tree,
    file: BinaryIO,
    by: User,
    view: str = Photo.View.FRONT,
    taken_at: datetime | None = None,
) -> Photo:
    """Keep a photo of a tree. A file that is no picture, or too large, is refused.

    The place it was taken at and all other data of the camera are left out; the
    time it was taken is kept.
    """
    sent = _read(file)
    picture, exif_taken_at = _open(sent)
    photo = Photo(
        tree=tree,
        view=view,
        taken_at=taken_at or exif_taken_at or timezone.now(),
        added_at=timezone.now(),
        by=by,
        sha256=hashlib.sha256(sent).hexdigest(),
    )
    photo.full_clean(exclude=["large", "small"])
    for size, side_px in SIZES_PX.items():
        name = f"{tree.number}-{photo.sha256[:16]}-{size}.jpg"
        getattr(photo, size).save(
            name, ContentFile(_jpeg(picture, side_px)), save=False
        )
    photo.save()
    record(by, "photographed", tree, view=view, sha256=photo.sha256)
    return photo


def check_photo(file: BinaryIO) -> None:
    """Refuse what `add_photo` would refuse, and leave the file at its start."""
    _open(_read(file))
    file.seek(0)


def _read(file: BinaryIO) -> bytes:
    limit = settings.PHOTO_LIMIT_MB * 1_000_000
    sent = file.read(limit + 1)
    if len(sent) > limit:
        raise ValidationError(
            f"The photo is larger than {settings.PHOTO_LIMIT_MB} MB. "
            "Send a smaller one."
        )
    return sent


def _open(sent: bytes) -> tuple[Image.Image, datetime | None]:
    try:
        with warnings.catch_warnings():
            # Size is judged below, by its own limit.
            warnings.simplefilter("ignore", Image.DecompressionBombWarning)
            with Image.open(io.BytesIO(sent)) as picture:
                width_px, height_px = picture.size
                if width_px * height_px > PIXEL_LIMIT:
                    raise ValidationError(
                        f"The photo has {width_px} × {height_px} pixels, more than "
                        f"{PIXEL_LIMIT // 1_000_000} million. Send a smaller one."
                    )
                taken_at = _taken_at(picture)
                return ImageOps.exif_transpose(picture).convert("RGB"), taken_at
    except (OSError, SyntaxError, ValueError, Image.DecompressionBombError) as error:
        raise ValidationError(
            "This file is not a picture that can be read. "
            "Send a JPEG, PNG, WebP or HEIC."
        ) from error


def _taken_at(picture: Image.Image) -> datetime | None:
    exif = picture.getexif()
    texts = [exif.get_ifd(0x8769).get(TAKEN_TAGS[0]), exif.get(TAKEN_TAGS[1])]
    for text in texts:
        try:
            naive = datetime.strptime(str(text), "%Y:%m:%d %H:%M:%S")  # noqa: DTZ007
        except ValueError:
            continue
        # Cameras write wall-clock time: the person's own zone reads it best.
        return timezone.make_aware(naive)
    return None


def _jpeg(picture: Image.Image, side_px: int) -> bytes:
    copy = picture.copy()
    copy.thumbnail((side_px, side_px), Image.Resampling.LANCZOS)
    out = io.BytesIO()
    copy.save(out, "JPEG", quality=85, optimize=True)
    return out.getvalue()
