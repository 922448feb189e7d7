"""Taxa, and what is stated of them with its source."""

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
    """A species, variety or hybrid; a cultivar belongs to the tree."""

    scientific_name = models.CharField(max_length=120, unique=True)
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


class TaxonFact(models.Model):
    """One stated value about a taxon: its unit, its kind of evidence, its source."""

    taxon = models.ForeignKey(Taxon, on_delete=models.CASCADE, related_name="facts")
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

    class Meta:
        ordering = ["attribute", "pk"]
        constraints = [
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
                    "The upper end of the range lies below the lower. "
                ),
            ),
            models.CheckConstraint(
                condition=~Q(kind=Evidence.OWN) | Q(by__isnull=False),
                name="taxon_fact_own_has_a_keeper",
                violation_error_message="A keeper's own value names the keeper.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.taxon}: {self.attribute} {self.value}"
