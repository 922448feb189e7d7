import json

import pytest
from django.core.management import CommandError, call_command

from tests import make
from wintering.trees.models import Taxon, TaxonFact
from wintering.trees.services import load_catalogue

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


TAXA = "scientific_name,habit,is_evergreen,common_names,original_names,romanised_names,"
TAXA += "synonyms,kind,source\n"
FACTS = "{},attribute,value,low,high,unit,printed_unit,qualifier,root_age,"
FACTS += "usable_as_limit,limit_reason,kind,source,address\n"


def folder_of(path, *, name, synonyms=""):
    row = f"{name},deciduous,no,,,,{synonyms},from memory,x\n"
    (path / "taxa.csv").write_text(TAXA + row, encoding="utf-8")
    for subject, of in (("taxon", name), ("genus", "Taxus"), ("habit", "deciduous")):
        row = f"{of},note,of the {subject},,,,,,,,,common practice,x,\n"
        text = FACTS.format(subject) + row
        (path / f"{subject}_facts.csv").write_text(text, encoding="utf-8")
    return path


def test_genus_and_habit_speak_for_what_the_catalogue_does_not_know(tmp_path):
    assert load_catalogue(folder_of(tmp_path, name="Taxus media")) == 3
    genus = Taxon.objects.get(rank=Taxon.Rank.GENUS)
    assert genus.scientific_name == "Taxus"
    assert genus.facts.get().value == "of the genus"
    assert TaxonFact.objects.get(habit="deciduous").value == "of the habit"
    assert load_catalogue(tmp_path) == 0


def test_a_renamed_taxon_keeps_its_row_and_its_trees(tmp_path):
    load_catalogue(folder_of(tmp_path, name="Taxus x media"))
    tree = make.tree(taxon=Taxon.objects.get(scientific_name="Taxus x media"))
    load_catalogue(folder_of(tmp_path, name="Taxus ×media", synonyms="Taxus x media"))
    tree.taxon.refresh_from_db()
    assert tree.taxon.scientific_name == "Taxus ×media"
    assert Taxon.objects.filter(rank=Taxon.Rank.SPECIES).count() == 1
