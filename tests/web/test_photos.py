"""Photos are handed only to those who may see the tree."""

import pytest

from tests import make
from wintering.trees.photos import add_photo

pytestmark = pytest.mark.django_db


@pytest.fixture
def photo(owner, keeper):
    tree = make.tree(owner=owner)
    return add_photo(tree=tree, file=make.picture(width=1200), by=keeper)


@pytest.mark.parametrize("size", ["small", "large"])
@pytest.mark.parametrize("who", ["as_keeper", "as_helper", "as_client"])
def test_staff_and_owner_get_the_picture(photo, request, who, size):
    answer = request.getfixturevalue(who).get(f"/photos/{photo.pk}/{size}/")
    assert answer.status_code == 200
    assert answer["Content-Type"] == "image/jpeg"
    assert b"".join(answer).startswith(b"\xff\xd8\xff")


def test_a_stranger_gets_nothing(photo, as_stranger, client):
    assert as_stranger.get(f"/photos/{photo.pk}/small/").status_code == 404
    assert client.get(f"/photos/{photo.pk}/small/").status_code == 302


def test_browsers_keep_it_privately_and_take_it_for_nothing_else(photo, as_client):
    answer = as_client.get(f"/photos/{photo.pk}/small/")
    answer.close()
    assert "private" in answer["Cache-Control"]
    assert "public" not in answer["Cache-Control"]
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert answer["Content-Disposition"].startswith("inline")


def test_no_other_size_and_no_other_photo(photo, as_keeper):
    assert as_keeper.get(f"/photos/{photo.pk}/huge/").status_code == 404
    assert as_keeper.get(f"/photos/{photo.pk + 1}/small/").status_code == 404


def test_a_missing_file_is_a_missing_page(photo, as_keeper):
    photo.small.storage.delete(photo.small.name)
    assert as_keeper.get(f"/photos/{photo.pk}/small/").status_code == 404


def test_no_address_serves_the_folder_itself(photo, as_keeper):
    assert as_keeper.get(f"/files/{photo.small.name}").status_code == 404


class TestAdding:
    def address(self, photo) -> str:
        return f"/trees/{photo.tree.number}/photos/"

    def test_staff_add_photos(self, photo, as_helper):
        sent = {"photo": make.picture(), "view": "back"}
        answer = as_helper.post(self.address(photo), sent)
        assert answer["Location"] == photo.tree.get_absolute_url()
        assert photo.tree.photos.filter(view="back").count() == 1

    def test_clients_add_none(self, photo, as_client):
        sent = {"photo": make.picture(), "view": "back"}
        assert as_client.post(self.address(photo), sent).status_code == 404
        assert photo.tree.photos.count() == 1

    def test_what_is_no_picture_is_refused_beside_the_field(self, photo, as_keeper):
        file = make.picture()
        file.seek(0)
        file.truncate(40)
        page = as_keeper.post(self.address(photo), {"photo": file, "view": "front"})
        assert page.status_code == 200
        assert page.context["photo_form"].errors["photo"] == [
            "This file is not a picture that can be read. "
            "Send a JPEG, PNG, WebP or HEIC."
        ]

    def test_the_same_photo_twice_is_refused(self, photo, as_keeper):
        file = make.picture()
        sent = {"photo": file, "view": "front"}
        as_keeper.post(self.address(photo), sent)
        file.seek(0)
        page = as_keeper.post(self.address(photo), sent)
        assert "This photo is already there." in page.content.decode()
