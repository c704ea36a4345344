from django.db import migrations


class Migration(migrations.Migration):
    dependencies = [("arsenal", "0018_shelf_states")]

    operations = [
        migrations.RemoveField(
            model_name='historicalstockball',
            name='sold',
        ),
        migrations.RemoveField(
            model_name='stockball',
            name='sold',
        ),
    ]
