"""Winter runs from August to July: a frame lies north of the equator, or is not placed.

What was entered south of it counted the wrong months as winter. It is emptied, both
latitude and longitude, before the narrower claim holds; its frame stays. Going back
brings no place back.
"""

from django.apps.registry import Apps
from django.db import migrations, models
from django.db.backends.base.schema import BaseDatabaseSchemaEditor


def empty_southern_places(apps: Apps, schema_editor: BaseDatabaseSchemaEditor) -> None:
    frames = apps.get_model("frames", "Frame").objects.using(
        schema_editor.connection.alias
    )
    frames.filter(latitude_deg__lt=0).update(latitude_deg=None, longitude_deg=None)


class Migration(migrations.Migration):
    dependencies = [
        ("frames", "0002_frame_lies_on_earth"),
    ]

    operations = [
        migrations.RunPython(empty_southern_places, migrations.RunPython.noop),
        migrations.RemoveConstraint(model_name="frame", name="frame_lies_on_earth"),
        migrations.AlterField(
            model_name="frame",
            name="latitude_deg",
            field=models.FloatField(
                blank=True,
                help_text="Degrees north.",
                null=True,
                verbose_name="latitude",
            ),
        ),
        migrations.AlterField(
            model_name="frame",
            name="longitude_deg",
            field=models.FloatField(
                blank=True,
                help_text="Degrees, west below zero.",
                null=True,
                verbose_name="longitude",
            ),
        ),
        migrations.AddConstraint(
            model_name="frame",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(
                        ("latitude_deg__isnull", True), ("longitude_deg__isnull", True)
                    ),
                    models.Q(
                        ("latitude_deg__isnull", False),
                        ("latitude_deg__range", (0, 90)),
                        ("longitude_deg__isnull", False),
                        ("longitude_deg__range", (-180, 180)),
                    ),
                    _connector="OR",
                ),
                name="frame_lies_on_earth",
                violation_error_message="Give both latitude, from 0 to 90 degrees north, and longitude, from -180 to 180, or neither. Winter runs from August to July here: places south of the equator are not reckoned yet.",
            ),
        ),
    ]
