"""Taxa, and what is stated of them with its source."""

from copy import copy

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django.urls import reverse

from wintering.trees.names import plain


class Evidence(models.TextChoices):
    """What a stated value rests on."""

    PUBLISHED = "published", "published"
    PRACTICE = "common practice", "common practice"
    MEMORY = "from memory", "from memory, unverified"
    COMPUTED = "computed here", "computed here"
    CHOICE = "own choice", "own choice"
    OWN = "the keeper's own", "the keeper's own"


class TaxonQuerySet(models.QuerySet["Taxon"]):
    def named_like(self, text: str) -> "TaxonQuerySet":
        """Taxa with every typed word somewhere in one of their names."""
        found = self
        for word in plain(text).split():
            found = found.filter(search_text__contains=word)
        return found


class Taxon(models.Model):
    """A species, variety or hybrid, or a genus; a cultivar belongs to the tree.

    What is stated of a genus stands in for what is not known of its species.
    """

    class Rank(models.TextChoices):
        SPECIES = "species", "species, variety or hybrid"
        GENUS = "genus", "genus"

    scientific_name = models.CharField(max_length=120, unique=True)
    rank = models.CharField(max_length=8, choices=Rank, default=Rank.SPECIES)
    common_names = models.CharField(max_length=300, blank=True)
    original_script = models.CharField(max_length=80, blank=True)
    habit = models.CharField(max_length=60, blank=True)
    # Three answers: yes, no, and not recorded.
    is_evergreen = models.BooleanField(null=True, blank=True)
    search_text = models.TextField(editable=False)

    objects = TaxonQuerySet.as_manager()

    class Meta:
        ordering = ["scientific_name"]
        verbose_name_plural = "taxa"

    def __str__(self) -> str:
        return self.scientific_name

    def get_absolute_url(self) -> str:
        return reverse("web:taxon-detail", args=[self.pk])

    @property
    def genus_name(self) -> str:
        """The first word that is not a hybrid sign."""
        words = self.scientific_name.replace("×", " ").split()
        return words[0] if words else ""


class TaxonFactQuerySet(models.QuerySet["TaxonFact"]):
    def standing(self) -> "TaxonFactQuerySet":
        """Without those that their keeper has taken back."""
        return self.filter(withdrawn_on=None)


class TaxonFact(models.Model):
    """One stated value: its unit, its kind of evidence, its source.

    It speaks of a taxon, of all plants of a habit, or (the keeper's own only) of one
    tree.
    """

    taxon = models.ForeignKey(
        Taxon, on_delete=models.CASCADE, null=True, blank=True, related_name="facts"
    )
    habit = models.CharField(max_length=60, blank=True)
    tree = models.ForeignKey(
        "trees.Tree",
        on_delete=models.CASCADE,
        null=True,
        blank=True,
        related_name="own_facts",
    )
    attribute = models.CharField(max_length=60)
    value = models.CharField(max_length=400)
    low = models.FloatField(null=True, blank=True)
    high = models.FloatField(null=True, blank=True)
    unit = models.CharField(max_length=40, blank=True)
    printed_unit = models.CharField(
        max_length=120, blank=True, help_text="The unit in the source's own words."
    )
    root_age = models.CharField(max_length=20, blank=True)
    qualifier = models.TextField(blank=True)
    kind = models.CharField(max_length=20, choices=Evidence)
    source = models.TextField()
    address = models.CharField(max_length=400, blank=True)
    # Null where the question does not arise: nothing is warned of by this attribute.
    usable_as_limit = models.BooleanField(
        null=True, blank=True, help_text="Whether a warning may rest on it."
    )
    limit_reason = models.CharField(max_length=300, blank=True)
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True
    )
    stated_on = models.DateField(null=True, blank=True)
    withdrawn_on = models.DateField(null=True, blank=True)

    # Not kept: set where it is read for the very genus it speaks of (Facts).
    is_of_itself = False

    objects = TaxonFactQuerySet.as_manager()

    class Meta:
        ordering = ["attribute", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(taxon__isnull=False, habit="", tree__isnull=True)
                | (Q(taxon__isnull=True, tree__isnull=True) & ~Q(habit=""))
                | Q(taxon__isnull=True, habit="", tree__isnull=False),
                name="taxon_fact_speaks_of_one",
                violation_error_message=(
                    "A fact speaks of one taxon, of one habit or of one tree."
                ),
            ),
            models.CheckConstraint(
                condition=Q(tree__isnull=True) | Q(kind=Evidence.OWN),
                name="taxon_fact_of_a_tree_is_own",
                violation_error_message="Of one tree only the keeper states facts.",
            ),
            models.CheckConstraint(
                condition=Q(withdrawn_on__isnull=True) | Q(kind=Evidence.OWN),
                name="taxon_fact_withdrawn_is_own",
                violation_error_message="Only a keeper's own value is withdrawn.",
            ),
            models.CheckConstraint(
                condition=~Q(source=""),
                name="taxon_fact_has_a_source",
                violation_error_message="Say where this value comes from.",
            ),
            models.CheckConstraint(
                condition=Q(low__isnull=True)
                | Q(high__isnull=True)
                | Q(high__gte=F("low")),
                name="taxon_fact_range_in_order",
                violation_error_message=(
                    "The upper end of the range lies below the lower."
                ),
            ),
            models.CheckConstraint(
                condition=~Q(kind=Evidence.OWN) | Q(by__isnull=False),
                name="taxon_fact_own_has_a_keeper",
                violation_error_message="A keeper's own value names the keeper.",
            ),
        ]

    def __str__(self) -> str:
        about = self.tree or self.taxon or self.habit
        return f"{about}: {self.attribute} {self.value}"

    @property
    def is_fallback(self) -> bool:
        """Whether it speaks of a genus or a habit, not of the taxon itself."""
        return bool(self.speaks_of) and not self.tree_id

    @property
    def speaks_of(self) -> str:
        """Of whom, where that is not the taxon itself: 'the genus Acer'."""
        if self.tree_id:
            return "this tree alone"
        if self.taxon is None:
            return f"every {self.habit}"
        if self.taxon.rank == Taxon.Rank.GENUS and not self.is_of_itself:
            return f"the genus {self.taxon}"
        return ""

    def read_for(self, taxon: Taxon) -> "TaxonFact":
        """As it reads for one taxon: a genus is no stand-in for itself."""
        if self.taxon_id is None or self.taxon_id != taxon.pk:
            return self
        read = copy(self)
        read.is_of_itself = True
        return read
