"""What every test shares: quick passwords and a files folder of its own."""

import pytest


@pytest.fixture(autouse=True)
def _quick_and_apart(settings, tmp_path):
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
    settings.MEDIA_ROOT = tmp_path / "files"
