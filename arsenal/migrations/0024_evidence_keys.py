"""By which model and of what an observation's evidence was read, in columns of their own."""

from typing import Any

from django.db import migrations, models
from django.db.models import F, Value
from django.db.models.fields.json import KeyTextTransform
from django.db.models.functions import Coalesce


def fill(apps: Any, schema_editor: Any) -> None:
    rows = apps.get_model("arsenal", "Observation").objects.using(schema_editor.connection.alias)
    said = {
        "evidence_model": KeyTextTransform("model_version", F("evidence")),
        "evidence_key": KeyTextTransform("key", F("evidence")),
    }
    rows.exclude(evidence=None).update(
        **{name: Coalesce(key, Value("")) for name, key in said.items()}
    )


class Migration(migrations.Migration):
    dependencies = [("arsenal", "0023_indexes")]

    operations = [
        migrations.AddField(
            model_name="observation",
            name="evidence_key",
            field=models.CharField(blank=True, default="", editable=False, max_length=64),
        ),
        migrations.AddField(
            model_name="observation",
            name="evidence_model",
            field=models.CharField(blank=True, default="", editable=False, max_length=40),
        ),
        migrations.AddIndex(
            model_name="observation",
            index=models.Index(fields=["shop", "-seen_on", "-id"], name="observation_newest_first"),
        ),
        # What is left unread is read anew.
        migrations.RunPython(fill, migrations.RunPython.noop),
    ]
