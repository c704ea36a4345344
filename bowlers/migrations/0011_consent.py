from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('bowlers', '0010_erasure'),
    ]

    operations = [
        migrations.AddField(
            model_name='bowler',
            name='agreed_to',
            field=models.CharField(blank=True, max_length=300),
        ),
        migrations.AddField(
            model_name='bowler',
            name='agreed_on',
            field=models.DateField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name='historicalbowler',
            name='agreed_to',
            field=models.CharField(blank=True, max_length=300),
        ),
        migrations.AddField(
            model_name='historicalbowler',
            name='agreed_on',
            field=models.DateField(blank=True, null=True),
        ),
    ]
