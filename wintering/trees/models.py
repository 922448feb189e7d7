"""Taxa with their sourced facts, and the trees themselves."""

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django.urls import reverse

from wintering.clients.models import Client
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


class TreeQuerySet(models.QuerySet["Tree"]):
    def named_like(self, text: str) -> "TreeQuerySet":
        """Trees whose number, names or taxon hold every typed word."""
        found = self
        for word in plain(text).split():
            found = found.filter(
                Q(search_text__contains=word) | Q(taxon__search_text__contains=word)
            )
        return found


class AccessionCounter(models.Model):
    """The last number given, in its one row: a number is never used again."""

    last = models.PositiveIntegerField(default=0)

    def __str__(self) -> str:
        return str(self.last)


class Tree(models.Model):
    """One pot in the collection or in care. Its number is never used for another."""

    class Identity(models.TextChoices):
        CERTAIN = "certain", "certain"
        PROBABLE = "probable", "probable"
        UNKNOWN = "unknown", "don't know"

    serial = models.PositiveIntegerField(unique=True, editable=False)
    number = models.CharField(
        "accession number", max_length=12, unique=True, editable=False
    )
    taxon = models.ForeignKey(Taxon, on_delete=models.PROTECT, related_name="trees")
    cultivar = models.CharField(max_length=80, blank=True)
    given_name = models.CharField(max_length=80, blank=True)
    original_script = models.CharField(max_length=80, blank=True)
    identity = models.CharField(
        max_length=10, choices=Identity, default=Identity.CERTAIN
    )
    owner = models.ForeignKey(
        Client,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="trees",
        help_text="Empty: the keeper's own tree.",
    )
    height_cm = models.FloatField(help_text="From the bench to the apex, pot included.")
    canopy_width_cm = models.FloatField(null=True, blank=True)
    canopy_depth_cm = models.FloatField(null=True, blank=True)
    weight_kg = models.FloatField(null=True, blank=True, help_text="Watered through.")
    root_work_on = models.DateField(
        null=True,
        blank=True,
        help_text="Last root pruning or repotting; empty: don't know.",
    )
    leaf_fall_on = models.DateField(null=True, blank=True)
    notes = models.TextField(blank=True)
    search_text = models.TextField(editable=False)

    objects = TreeQuerySet.as_manager()

    class Meta:
        ordering = ["serial"]
        constraints = [
            models.CheckConstraint(
                condition=Q(height_cm__gt=0, height_cm__lt=1000),
                name="tree_height_is_possible",
                violation_error_message=(
                    "Give the height with pot in cm, between 1 and 1000. "
                ),
            ),
            models.CheckConstraint(
                condition=Q(weight_kg__isnull=True) | Q(weight_kg__gt=0),
                name="tree_weight_is_positive",
                violation_error_message="The weight must be above 0 kg.",
            ),
            models.CheckConstraint(
                condition=(Q(canopy_width_cm__isnull=True) | Q(canopy_width_cm__gt=0))
                & (Q(canopy_depth_cm__isnull=True) | Q(canopy_depth_cm__gt=0)),
                name="tree_canopy_is_positive",
                violation_error_message="Canopy width and depth must be above 0 cm.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.number} {self.name}"

    def get_absolute_url(self) -> str:
        return reverse("web:tree-detail", args=[self.number])

    @property
    def name(self) -> str:
        """Taxon and cultivar, the epithet in single quotes as the ICNCP asks."""
        if not self.cultivar:
            return self.taxon.scientific_name
        return f"{self.taxon.scientific_name} '{self.cultivar}'"

    @property
    def owner_mark(self) -> str:
        return self.owner.mark if self.owner else "own"


class Pot(models.Model):
    """The pot a tree stands in, from when until when."""

    class Shape(models.TextChoices):
        RECTANGULAR = "rectangular", "rectangular"
        OVAL = "oval", "oval"
        ROUND = "round", "round"
        OTHER = "other", "other"

    tree = models.ForeignKey(Tree, on_delete=models.CASCADE, related_name="pots")
    since = models.DateField()
    until = models.DateField(null=True, blank=True)
    shape = models.CharField(max_length=12, choices=Shape, default=Shape.RECTANGULAR)
    width_cm = models.FloatField()
    depth_cm = models.FloatField()
    height_cm = models.FloatField(null=True, blank=True)
    material = models.CharField(max_length=60, blank=True)
    substrate = models.CharField(max_length=120, blank=True)
    # A lip that turns inward can break any fired pot when the ball freezes.
    lip_turns_in = models.BooleanField(null=True, blank=True)

    class Meta:
        ordering = ["-since", "-pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["tree"],
                condition=Q(until=None),
                name="pot_one_at_a_time",
                violation_error_message="A tree stands in one pot at a time.",
            ),
            models.CheckConstraint(
                condition=Q(width_cm__gt=0, depth_cm__gt=0),
                name="pot_size_is_positive",
                violation_error_message="Pot width and depth must be above 0 cm.",
            ),
            models.CheckConstraint(
                condition=Q(until__isnull=True) | Q(until__gte=F("since")),
                name="pot_ends_after_start",
                violation_error_message="A pot's end lies before its start.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.shape} {self.width_cm:g} × {self.depth_cm:g} cm"


class Photo(models.Model):
    """A picture of a tree, kept privately in two sizes."""

    class View(models.TextChoices):
        FRONT = "front", "front"
        RIGHT = "right", "right side"
        BACK = "back", "back"
        LEFT = "left", "left side"
        ABOVE = "above", "from above"
        BASE = "base", "root base"
        POT = "pot", "pot"
        FINDING = "finding", "a finding"

    tree = models.ForeignKey(Tree, on_delete=models.CASCADE, related_name="photos")
    view = models.CharField(max_length=10, choices=View, default=View.FRONT)
    taken_at = models.DateTimeField()
    added_at = models.DateTimeField()
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True
    )
    large = models.FileField(upload_to="photos/%Y/")
    small = models.FileField(upload_to="photos/%Y/")
    sha256 = models.CharField(max_length=64, help_text="Of the file as it was sent.")

    class Meta:
        ordering = ["-taken_at", "-pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["tree", "sha256"],
                name="photo_once_per_tree",
                violation_error_message="This photo is already there.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.tree_id} {self.view} {self.taken_at:%Y-%m-%d}"


class BudStage(models.Model):
    """The stage a tree's leaf buds were seen in, by the BBCH two-digit code.

    Meier (ed.) 2001, BBCH Monograph, 2nd edition: 00 dormant, 01 swelling begins,
    07 burst begins, 09 green tips, 10 leaves separate, 11 first leaf unfolded.
    """

    tree = models.ForeignKey(Tree, on_delete=models.CASCADE, related_name="bud_stages")
    on = models.DateField()
    code = models.PositiveSmallIntegerField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT)

    class Meta:
        ordering = ["-on", "-pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(code__lte=99),
                name="bud_stage_has_two_digits",
                violation_error_message="A BBCH stage has two digits, 00 to 99.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.tree_id} BBCH {self.code:02d}"
