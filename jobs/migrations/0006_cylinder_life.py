"""Gives cylinders the filed records of their life, and movements of stock sales, adjustments and reversals."""

import django.db.models.deletion
import uuid
from django.conf import settings
from django.db import migrations, models

from jobs.models.fixed_tables import drop_triggers, put_triggers


NEW_TABLES = (
    "jobs_buyerproof",
    "jobs_contamination",
    "jobs_cylindermove",
    "jobs_cylinderweighing",
    "jobs_heelremoval",
    "jobs_requalificationperiod",
    "jobs_shipmentreceipt",
    "jobs_withdrawal",
)
ALTERED_TABLES = ("jobs_chainlink", "jobs_stockmovement")


def put(apps, schema_editor):
    drop_triggers(schema_editor.connection, ALTERED_TABLES)
    put_triggers(schema_editor.connection, (*NEW_TABLES, *ALTERED_TABLES))


def drop(apps, schema_editor):
    drop_triggers(schema_editor.connection, NEW_TABLES)


class Migration(migrations.Migration):

    dependencies = [
        ('jobs', '0005_customer_is_sent_records'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.AlterModelOptions(
            name='stockmovement',
            options={'ordering': ('happened_on', 'pk'), 'permissions': (('adjust_stock', 'Can adjust the books to the scale'), ('reconcile_stock', 'Can see the monthly reconciliation'), ('reverse_stockmovement', 'Can reverse a mistaken movement of stock'))},
        ),
        migrations.AddField(
            model_name='stockmovement',
            name='reverses',
            field=models.OneToOneField(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='reversed_by', to='jobs.stockmovement'),
        ),
        migrations.AddField(
            model_name='stockmovement',
            name='supply_status',
            field=models.CharField(blank=True, choices=[('virgin', 'New (virgin)'), ('reclaimed', 'Reclaimed')], max_length=10),
        ),
        migrations.AlterField(
            model_name='cylinder',
            name='place',
            field=models.CharField(choices=[('shop', 'Shop'), ('van', 'Van'), ('site', "Customer's site"), ('away', 'Supplier, reclaimer or other firm')], default='shop', max_length=10),
        ),
        migrations.AlterField(
            model_name='cylinder',
            name='place_note',
            field=models.CharField(blank=True, max_length=200, verbose_name='which van, site or firm'),
        ),
        migrations.AlterField(
            model_name='historicalcylinder',
            name='place',
            field=models.CharField(choices=[('shop', 'Shop'), ('van', 'Van'), ('site', "Customer's site"), ('away', 'Supplier, reclaimer or other firm')], default='shop', max_length=10),
        ),
        migrations.AlterField(
            model_name='historicalcylinder',
            name='place_note',
            field=models.CharField(blank=True, max_length=200, verbose_name='which van, site or firm'),
        ),
        migrations.AlterField(
            model_name='holder',
            name='kind',
            field=models.CharField(choices=[('appliance', 'Appliance'), ('cylinder', 'Cylinder'), ('supplier', 'Supplier'), ('reclaimer', 'Reclaimer'), ('destruction_facility', 'Destruction facility'), ('customer', 'Customer'), ('buyer', 'Buyer'), ('other_contractor', 'Other contractor'), ('opening_balance', 'Opening balance'), ('stock_difference', 'Stock difference'), ('atmosphere', 'Atmosphere')], max_length=20),
        ),
        migrations.AlterField(
            model_name='stockmovement',
            name='kind',
            field=models.CharField(choices=[('opening', 'Contents when the books began'), ('purchase', 'Bought from a supplier'), ('reclamation', 'Sent for reclamation'), ('destruction', 'Sent for destruction'), ('sale', 'Sold'), ('heel', 'Heel moved into another cylinder'), ('adjustment', 'Books adjusted to the scale'), ('reversal', 'Reversal of a mistaken record'), ('appliance_opening', "Appliance's charge when its books began")], max_length=20),
        ),
        migrations.CreateModel(
            name='BuyerProof',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('basis', models.CharField(choices=[('certified', 'Is a certified technician'), ('employer', 'Employs a certified technician'), ('reseller', 'Buys for resale to such buyers'), ('manufacturer', 'Makes appliances')], max_length=20)),
                ('technician_name', models.CharField(blank=True, max_length=120, verbose_name='certified technician')),
                ('certification_type', models.CharField(blank=True, choices=[('type_i', 'Type I: small appliances'), ('type_ii', 'Type II: medium-, high- and very high-pressure appliances'), ('type_iii', 'Type III: low-pressure appliances'), ('universal', 'Universal'), ('section_609', 'Section 609: motor vehicle air conditioning and MVAC-like')], max_length=20)),
                ('certification_number', models.CharField(blank=True, max_length=60)),
                ('proof', models.TextField(blank=True, help_text='What was shown, and where the copy is kept.')),
                ('movement', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='buyer_proof', to='jobs.stockmovement')),
            ],
            options={
                'ordering': ('pk',),
            },
        ),
        migrations.CreateModel(
            name='Contamination',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('submission_id', models.UUIDField(default=uuid.uuid4, unique=True)),
                ('happened_on', models.DateField()),
                ('note', models.TextField(blank=True)),
                ('filed_at', models.DateTimeField()),
                ('refrigerants', models.JSONField(blank=True, default=list, help_text='Designations that are or may be in it.')),
                ('finding', models.TextField(help_text='What was found, and how.')),
                ('cylinder', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='%(class)ss', to='jobs.cylinder')),
                ('filed_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'ordering': ('happened_on', 'pk'),
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='CylinderMove',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('submission_id', models.UUIDField(default=uuid.uuid4, unique=True)),
                ('happened_on', models.DateField()),
                ('note', models.TextField(blank=True)),
                ('filed_at', models.DateTimeField()),
                ('reason', models.CharField(choices=[('acquired', 'Came to us: bought, rented or returned'), ('work', 'Taken where it is needed'), ('sent', 'Sent away with its contents'), ('returned_empty', 'Returned empty'), ('retired', 'Taken out of use for good')], default='work', max_length=20)),
                ('place', models.CharField(choices=[('shop', 'Shop'), ('van', 'Van'), ('site', "Customer's site"), ('away', 'Supplier, reclaimer or other firm')], max_length=10)),
                ('place_note', models.CharField(blank=True, max_length=200)),
                ('moved_by', models.CharField(help_text='Who moved it.', max_length=120)),
                ('from_place', models.CharField(choices=[('shop', 'Shop'), ('van', 'Van'), ('site', "Customer's site"), ('away', 'Supplier, reclaimer or other firm')], max_length=10)),
                ('from_place_note', models.CharField(blank=True, max_length=200)),
                ('cylinder', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='%(class)ss', to='jobs.cylinder')),
                ('filed_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('site', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='jobs.site')),
                ('technician', models.ForeignKey(blank=True, help_text='Whose van.', null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='jobs.technician')),
            ],
            options={
                'ordering': ('happened_on', 'pk'),
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='CylinderWeighing',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('submission_id', models.UUIDField(default=uuid.uuid4, unique=True)),
                ('happened_on', models.DateField()),
                ('note', models.TextField(blank=True)),
                ('filed_at', models.DateTimeField()),
                ('gross_mg', models.BigIntegerField()),
                ('gross_entered', models.CharField(max_length=40)),
                ('gross_unit', models.CharField(choices=[('lb', 'lb'), ('oz', 'oz'), ('lb+oz', 'lb + oz'), ('kg', 'kg'), ('g', 'g')], max_length=10)),
                ('uncertainty_mg', models.BigIntegerField(help_text='How far the scale may be off, either way.')),
                ('tare_mg', models.BigIntegerField(help_text="The cylinder's tare on record when it was weighed.")),
                ('scale', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='cylinder_weighings', to='jobs.instrument')),
                ('cylinder', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='%(class)ss', to='jobs.cylinder')),
                ('filed_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'ordering': ('happened_on', 'pk'),
                'abstract': False,
            },
        ),
        migrations.AddField(
            model_name='stockmovement',
            name='weighing',
            field=models.OneToOneField(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='adjustment', to='jobs.cylinderweighing'),
        ),
        migrations.CreateModel(
            name='HeelRemoval',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('submission_id', models.UUIDField(default=uuid.uuid4, unique=True)),
                ('happened_on', models.DateField()),
                ('note', models.TextField(blank=True)),
                ('filed_at', models.DateTimeField()),
                ('level_in_hg_vacuum', models.DecimalField(decimal_places=2, max_digits=5)),
                ('destination_kind', models.CharField(choices=[('reclaimer', 'Reclaimer'), ('final_processor', 'Final processor, for recycling of the metal'), ('landfill', 'Landfill operator'), ('supplier', 'Supplier')], max_length=20)),
                ('destination_name', models.CharField(max_length=160)),
                ('statement', models.TextField()),
                ('cylinder', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='%(class)ss', to='jobs.cylinder')),
                ('filed_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('movement', models.OneToOneField(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='heel_removal', to='jobs.stockmovement')),
                ('removed_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='jobs.technician')),
            ],
            options={
                'ordering': ('happened_on', 'pk'),
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='RequalificationPeriod',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('submission_id', models.UUIDField(default=uuid.uuid4, unique=True)),
                ('happened_on', models.DateField()),
                ('note', models.TextField(blank=True)),
                ('filed_at', models.DateTimeField()),
                ('years', models.PositiveSmallIntegerField()),
                ('reason', models.TextField()),
                ('cylinder', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='%(class)ss', to='jobs.cylinder')),
                ('filed_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'ordering': ('happened_on', 'pk'),
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='ShipmentReceipt',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('submission_id', models.UUIDField(default=uuid.uuid4, unique=True)),
                ('happened_on', models.DateField()),
                ('note', models.TextField(blank=True)),
                ('filed_at', models.DateTimeField()),
                ('mass_mg', models.BigIntegerField()),
                ('entered_value', models.CharField(max_length=40)),
                ('entered_unit', models.CharField(choices=[('lb', 'lb'), ('oz', 'oz'), ('lb+oz', 'lb + oz'), ('kg', 'kg'), ('g', 'g')], max_length=10)),
                ('document_number', models.CharField(max_length=80)),
                ('cylinder', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='%(class)ss', to='jobs.cylinder')),
                ('filed_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('shipment', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='receipts', to='jobs.stockmovement')),
            ],
            options={
                'ordering': ('happened_on', 'pk'),
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='Withdrawal',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('submission_id', models.UUIDField(default=uuid.uuid4, unique=True)),
                ('happened_on', models.DateField()),
                ('note', models.TextField(blank=True)),
                ('filed_at', models.DateTimeField()),
                ('reason', models.TextField()),
                ('contamination', models.OneToOneField(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='withdrawal', to='jobs.contamination')),
                ('cylinder', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='%(class)ss', to='jobs.cylinder')),
                ('cylinder_move', models.OneToOneField(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='withdrawal', to='jobs.cylindermove')),
                ('cylinder_weighing', models.OneToOneField(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='withdrawal', to='jobs.cylinderweighing')),
                ('filed_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('shipment_receipt', models.OneToOneField(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='withdrawal', to='jobs.shipmentreceipt')),
            ],
            options={
                'ordering': ('happened_on', 'pk'),
                'abstract': False,
            },
        ),
        migrations.AddConstraint(
            model_name='cylinderweighing',
            constraint=models.CheckConstraint(condition=models.Q(('gross_mg__gt', 0), ('tare_mg__gt', 0), ('uncertainty_mg__gte', 0)), name='jobs_cylinderweighing_masses_above_zero'),
        ),
        migrations.AddConstraint(
            model_name='withdrawal',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('cylinder_move', None), ('cylinder_weighing', None), ('shipment_receipt', None), ('contamination__isnull', False)), models.Q(('contamination', None), ('cylinder_move', None), ('cylinder_weighing', None), ('shipment_receipt__isnull', False)), models.Q(('contamination', None), ('cylinder_move', None), ('shipment_receipt', None), ('cylinder_weighing__isnull', False)), models.Q(('contamination', None), ('cylinder_weighing', None), ('shipment_receipt', None), ('cylinder_move__isnull', False)), _connector='OR'), name='jobs_withdrawal_names_one_record'),
        ),
        migrations.AlterField(
            model_name='chainlink',
            name='record_kind',
            field=models.CharField(help_text='service_event, stock_movement or a kind of cylinder record', max_length=20),
        ),
        migrations.RunPython(put, drop),
    ]
