"""Frames to scale: benches, the modules they are ruled in, and microclimates.

All plan coordinates are centimetres from the frame's lower left inner corner on the
plan, x to the right, y upwards; the plan's `north_deg` says where north lies.
"""

from django.db import models
from django.db.models import F, Q
from django.urls import reverse

from wintering.people.zones import validate_time_zone


class Frame(models.Model):
    """The structure that trees are wintered in."""

    class Kind(models.TextChoices):
        COLD_FRAME = "cold_frame", "cold frame"
        PIT_FRAME = "pit_frame", "pit frame"
        COLD_GREENHOUSE = "cold_greenhouse", "cold greenhouse"
        GARAGE = "garage", "garage or shed"
        CELLAR = "cellar", "cellar"
        HEELING_IN = "heeling_in", "heeling-in bed"

    name = models.CharField(max_length=80, unique=True)
    slug = models.SlugField(max_length=80, unique=True)
    kind = models.CharField(max_length=20, choices=Kind, default=Kind.COLD_FRAME)
    width_cm = models.FloatField(help_text="Inside, along the plan's x axis.")
    depth_cm = models.FloatField(help_text="Inside, along the plan's y axis.")
    north_deg = models.FloatField(
        default=0, help_text="Where north lies, clockwise from the top of the plan."
    )
    time_zone = models.CharField(max_length=64, validators=[validate_time_zone])
    # Where on earth, for the length of its days; empty: not known.
    latitude_deg = models.FloatField(
        "latitude", null=True, blank=True, help_text="Degrees north."
    )
    longitude_deg = models.FloatField(
        "longitude", null=True, blank=True, help_text="Degrees, west below zero."
    )
    exit_on = models.DateField(
        "planned exit",
        null=True,
        blank=True,
        help_text="When trees are planned to leave it this winter; empty: 1 March.",
    )
    # How this frame's log files were read last, so that nobody is asked twice.
    log_habits = models.JSONField(default=dict, blank=True, editable=False)
    notes = models.TextField(blank=True)

    class Meta:
        ordering = ["name"]
        constraints = [
            models.CheckConstraint(
                condition=Q(width_cm__gt=0, depth_cm__gt=0),
                name="frame_size_is_positive",
                violation_error_message=(
                    "Width and depth of the frame must be above 0 cm. "
                ),
            ),
            models.CheckConstraint(
                # A comparison with nothing counts as kept: say that both are there.
                condition=Q(latitude_deg__isnull=True, longitude_deg__isnull=True)
                | Q(
                    latitude_deg__isnull=False,
                    longitude_deg__isnull=False,
                    latitude_deg__range=(0, 90),
                    longitude_deg__range=(-180, 180),
                ),
                name="frame_lies_on_earth",
                violation_error_message=(
                    "Give both latitude, from 0 to 90 degrees north, and longitude, "
                    "from -180 to 180, or neither. Winter runs from August to July "
                    "here: places south of the equator are not reckoned yet."
                ),
            ),
        ]

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        return reverse("web:frame-detail", args=[self.slug])


class Fitting(models.Model):
    """Something that stays where it is: door, path, outlet, heater, vent."""

    class Kind(models.TextChoices):
        DOOR = "door", "door"
        PATH = "path", "path"
        OUTLET = "outlet", "pipe outlet"
        HEATER = "heater", "heater"
        VENT = "vent", "vent"

    frame = models.ForeignKey(Frame, on_delete=models.CASCADE, related_name="fittings")
    kind = models.CharField(max_length=10, choices=Kind)
    x_cm = models.FloatField()
    y_cm = models.FloatField()
    width_cm = models.FloatField()
    depth_cm = models.FloatField()

    class Meta:
        ordering = ["kind", "pk"]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} in {self.frame_id}"


class Microclimate(models.Model):
    """Part of a frame that shares a temperature.

    It has sensors of its own, or follows another microclimate with an offset.
    """

    frame = models.ForeignKey(
        Frame, on_delete=models.CASCADE, related_name="microclimates"
    )
    name = models.CharField(max_length=60)
    slug = models.SlugField(max_length=60)
    follows = models.ForeignKey(
        "self",
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="followers",
    )
    offset_k = models.FloatField(
        default=0, help_text="Added to the followed microclimate's temperature."
    )
    # 35-45 °F, best near 40 °F: common practice for dormant trees.
    safe_low_c = models.FloatField(default=1.7)
    safe_high_c = models.FloatField(default=7.2)
    best_c = models.FloatField(default=4.4)

    class Meta:
        ordering = ["frame", "name"]
        constraints = [
            models.UniqueConstraint(
                fields=["frame", "slug"],
                name="microclimate_named_once",
                violation_error_message=(
                    "The frame already has a microclimate of that name. "
                ),
            ),
            models.CheckConstraint(
                condition=Q(safe_low_c__lt=F("safe_high_c")),
                name="microclimate_band_in_order",
                violation_error_message=(
                    "The safe band's lower end must lie below its upper. "
                ),
            ),
            models.CheckConstraint(
                condition=Q(follows__isnull=True) | ~Q(follows=F("pk")),
                name="microclimate_follows_another",
                violation_error_message="A microclimate cannot follow itself.",
            ),
        ]

    def __str__(self) -> str:
        return self.name


class Bench(models.Model):
    """A flat surface at one height: bench, shelf or floor bay."""

    class Front(models.TextChoices):
        """Which long edge faces the keeper."""

        LOWER = "lower", "lower edge on the plan"
        UPPER = "upper", "upper edge on the plan"

    class CountFrom(models.TextChoices):
        LEFT = "left", "left on the plan"
        RIGHT = "right", "right on the plan"

    frame = models.ForeignKey(Frame, on_delete=models.CASCADE, related_name="benches")
    name = models.CharField(max_length=12)
    level = models.CharField(
        max_length=30, help_text="What is drawn together: floor, bench, shelf."
    )
    x_cm = models.FloatField()
    y_cm = models.FloatField()
    width_cm = models.FloatField()
    depth_cm = models.FloatField()
    height_cm = models.FloatField(help_text="Of the surface above the floor.")
    headroom_cm = models.FloatField(help_text="Free height above the surface.")
    weight_limit_kg = models.FloatField(null=True, blank=True)
    front = models.CharField(max_length=5, choices=Front, default=Front.LOWER)
    count_from = models.CharField(
        max_length=5, choices=CountFrom, default=CountFrom.LEFT
    )

    class Meta:
        ordering = ["frame", "height_cm", "name"]
        constraints = [
            models.UniqueConstraint(
                fields=["frame", "name"],
                name="bench_named_once",
                violation_error_message="The frame already has a bench of that name.",
            ),
            models.CheckConstraint(
                condition=Q(
                    width_cm__gt=0, depth_cm__gt=0, headroom_cm__gt=0, height_cm__gte=0
                ),
                name="bench_size_is_positive",
                violation_error_message="Width, depth and headroom must be above 0 cm.",
            ),
        ]

    def __str__(self) -> str:
        return self.name


class Module(models.Model):
    """One ruled place of a bench; its label is stable for the winter.

    Coordinates are relative to the bench's lower left corner on the plan.
    """

    bench = models.ForeignKey(Bench, on_delete=models.CASCADE, related_name="modules")
    label = models.CharField(max_length=24)
    column = models.PositiveSmallIntegerField(
        help_text="Counted along the bench from 1."
    )
    row = models.PositiveSmallIntegerField(help_text="Counted from the front from 1.")
    x_cm = models.FloatField()
    y_cm = models.FloatField()
    width_cm = models.FloatField()
    depth_cm = models.FloatField()
    microclimate = models.ForeignKey(
        Microclimate, on_delete=models.PROTECT, related_name="modules"
    )

    class Meta:
        ordering = ["bench", "column", "row"]
        constraints = [
            models.UniqueConstraint(
                fields=["bench", "column", "row"], name="module_once"
            ),
            models.UniqueConstraint(
                fields=["bench", "label"], name="module_labelled_once"
            ),
        ]

    def __str__(self) -> str:
        return self.label
