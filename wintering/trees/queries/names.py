"""Names as they are typed, and as the catalogue writes them."""

from django.db.models import Q

from wintering.trees.models import Taxon
from wintering.trees.names import as_botanical


def name_as_written(typed: str) -> str:
    """A name typed in one case, as the code writes it, if its genus is known here.

    'ficus virens' becomes Ficus virens where the catalogue has figs; 'japanese maple'
    stays as it is, for it is no botanical name.
    """
    written = as_botanical(typed)
    genus = Taxon(scientific_name=written).genus_name
    of_genus = Q(scientific_name=genus)
    for start in (f"{genus} ", f"×{genus} "):
        of_genus |= Q(scientific_name__startswith=start)
    known = bool(genus) and Taxon.objects.filter(of_genus).exists()
    return written if known else " ".join(typed.split())
