import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('rentals', '0001_initial'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='RosterDraft',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('file_name', models.CharField(max_length=200)),
                ('content', models.JSONField()),
                ('at', models.DateTimeField()),
                ('imported_at', models.DateTimeField(blank=True, null=True)),
                ('result', models.CharField(blank=True, help_text='What the import did, in words.', max_length=300)),
                ('by', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('run', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='roster_drafts', to='rentals.courserun')),
            ],
            options={
                'ordering': ['-at', '-pk'],
            },
        ),
    ]
