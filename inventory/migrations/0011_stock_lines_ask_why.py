"""A line of stock may ask why it did not go as expected."""

from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('inventory', '0010_movements_lately'),
        ('kernel', '0002_enrolment_tries'),
    ]

    operations = [
        migrations.RemoveConstraint(
            model_name='stockline',
            name='stock_line_to_do_is_known',
        ),
        migrations.AlterField(
            model_name='stockline',
            name='to_do',
            field=models.CharField(choices=[('leak', 'look for a leak'), ('count', 'it is below nothing: count it'), ('plan', 'nothing is planned with it'), ('order', 'order it'), ('exchange', 'exchange the cylinder'), ('too_old', 'open the next'), ('press', 'change the instruction'), ('why', 'find out why it is not as expected'), ('ask', 'no delivery is known'), ('weigh', 'it was never measured'), ('nothing', 'nothing'), ('wait', 'not counted yet')], default='wait', max_length=8),
        ),
        migrations.AddConstraint(
            model_name='stockline',
            constraint=models.CheckConstraint(condition=models.Q(('to_do__in', ['leak', 'count', 'plan', 'order', 'exchange', 'too_old', 'press', 'why', 'ask', 'weigh', 'nothing', 'wait'])), name='stock_line_to_do_is_known'),
        ),
    ]
