from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("crews", "0001_initial")]

    operations = [
        migrations.AddField(
            model_name="user",
            name="mailed",
            field=models.BooleanField(default=False, verbose_name="Mail me what is overdue in my crews"),
        ),
    ]
