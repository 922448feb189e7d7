"""The trees themselves: pots, photos, the bud stages seen."""

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django.urls import reverse

from wintering.clients.models import Client
from wintering.trees.models.taxa import Taxon
from wintering.trees.names import plain


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
