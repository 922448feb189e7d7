import json

import pytest
from django.core.management import CommandError, call_command

from wintering.trees.models import Taxon

pytestmark = pytest.mark.django_db


def test_the_projects_own_catalogue_loads_and_says_how_much(capsys):
    call_command("load_catalogue", "--format", "json")
    counts = json.loads(capsys.readouterr().out)
    assert counts["taxa"] == Taxon.objects.count() >= 110
    assert counts["put_in"] == counts["facts"] > 1000
    call_command("load_catalogue")
    assert "0 put in" in capsys.readouterr().out


def test_a_folder_without_a_catalogue_is_refused_in_one_line(tmp_path):
    with pytest.raises(CommandError, match="cannot be read"):
        call_command("load_catalogue", "--folder", str(tmp_path))
    assert not Taxon.objects.exists()
