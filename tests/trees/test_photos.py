import io
from datetime import UTC, datetime

import pytest
from django.core.exceptions import ValidationError
from django.utils import timezone
from PIL import Image

from tests import make
from wintering.trees.models import Photo
from wintering.trees.photos import add_photo, check_photo

pytestmark = pytest.mark.django_db


def phone_picture(*, size=(400, 200), orientation=1, place=False):
    """A JPEG as a phone writes it: turned, dated, with the place it was taken at."""
    exif = Image.Exif()
    exif[0x0112] = orientation
    exif.get_ifd(0x8769)[0x9003] = "2024:10:05 10:30:00"
    if place:
        exif.get_ifd(0x8825)[2] = (44.0, 36.0, 0.0)
    file = io.BytesIO()
    Image.new("RGB", size, (90, 120, 60)).save(file, "JPEG", exif=exif)
    file.seek(0)
    return file


def kept(photo):
    with photo.large.open() as file:
        return Image.open(io.BytesIO(file.read()))


def test_a_photo_is_kept_in_two_sizes():
    photo = add_photo(
        tree=make.tree(), file=make.picture(width=3000, height=2000), by=make.keeper()
    )
    with photo.small.open() as file:
        assert max(Image.open(file).size) == 320
    assert max(kept(photo).size) == 2400


def test_a_turned_photo_is_set_upright():
    photo = add_photo(
        tree=make.tree(), file=phone_picture(orientation=6), by=make.keeper()
    )
    assert kept(photo).size == (200, 400)


def test_the_place_a_photo_was_taken_at_is_left_out():
    photo = add_photo(
        tree=make.tree(), file=phone_picture(place=True), by=make.keeper()
    )
    assert dict(kept(photo).getexif()) == {}


def test_the_time_a_photo_was_taken_is_read_in_the_persons_zone():
    with timezone.override("America/New_York"):
        photo = add_photo(tree=make.tree(), file=phone_picture(), by=make.keeper())
    assert photo.taken_at == datetime(2024, 10, 5, 14, 30, tzinfo=UTC)


@pytest.mark.parametrize("sent", [b"", b"hello", b"\xff\xd8\xff\xe0 not a picture"])
def test_what_is_no_picture_is_refused(sent):
    with pytest.raises(ValidationError, match="not a picture"):
        add_photo(tree=make.tree(), file=io.BytesIO(sent), by=make.keeper())
    assert not Photo.objects.exists()


def test_a_file_over_the_limit_is_refused(settings):
    settings.PHOTO_LIMIT_MB = 1
    with pytest.raises(ValidationError, match="larger than"):
        check_photo(io.BytesIO(b"x" * 1_000_001))


def test_a_picture_of_too_many_pixels_is_refused():
    file = io.BytesIO()
    Image.new("1", (9000, 8000)).save(file, "PNG")
    file.seek(0)
    with pytest.raises(ValidationError, match="9000 × 8000 pixels"):
        check_photo(file)


def test_a_checked_photo_can_be_read_again():
    file = make.picture()
    check_photo(file)
    assert add_photo(tree=make.tree(), file=file, by=make.keeper()).pk


def test_the_same_photo_is_kept_once_for_a_tree():
    tree, keeper, file = make.tree(), make.keeper(), make.picture()
    add_photo(tree=tree, file=file, by=keeper)
    file.seek(0)
    with pytest.raises(ValidationError, match="already there"):
        add_photo(tree=tree, file=file, by=keeper)


def test_heic_from_a_phone_is_read():
    file = io.BytesIO()
    Image.new("RGB", (64, 48), (90, 120, 60)).save(file, "HEIF")
    file.seek(0)
    assert (
        kept(add_photo(tree=make.tree(), file=file, by=make.keeper())).format == "JPEG"
    )
