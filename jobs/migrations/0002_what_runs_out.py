"""Certificates that run out, and leak detectors among the instruments."""

from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('jobs', '0001_registers_and_records'),
    ]

    operations = [
        migrations.AddField(
            model_name='certification',
            name='ended_because',
            field=models.CharField(blank=True, max_length=240, verbose_name='why it no longer counts'),
        ),
        migrations.AddField(
            model_name='certification',
            name='ended_on',
            field=models.DateField(blank=True, help_text='Revoked, given up, or replaced by another.', null=True, verbose_name='no longer counts from'),
        ),
        migrations.AddField(
            model_name='certification',
            name='expires_on',
            field=models.DateField(blank=True, help_text="Empty where it prints none. One of section 608 doesn't expire (40 CFR 82.161).", null=True, verbose_name='last day printed on it'),
        ),
        migrations.AddField(
            model_name='certification',
            name='refreshed_on',
            field=models.DateField(blank=True, help_text='The last refresher training or evaluation (Regulation (EU) 2024/573 Art. 10(9)).', null=True, verbose_name='last refresher on'),
        ),
        migrations.AddField(
            model_name='historicalcertification',
            name='ended_because',
            field=models.CharField(blank=True, max_length=240, verbose_name='why it no longer counts'),
        ),
        migrations.AddField(
            model_name='historicalcertification',
            name='ended_on',
            field=models.DateField(blank=True, help_text='Revoked, given up, or replaced by another.', null=True, verbose_name='no longer counts from'),
        ),
        migrations.AddField(
            model_name='historicalcertification',
            name='expires_on',
            field=models.DateField(blank=True, help_text="Empty where it prints none. One of section 608 doesn't expire (40 CFR 82.161).", null=True, verbose_name='last day printed on it'),
        ),
        migrations.AddField(
            model_name='historicalcertification',
            name='refreshed_on',
            field=models.DateField(blank=True, help_text='The last refresher training or evaluation (Regulation (EU) 2024/573 Art. 10(9)).', null=True, verbose_name='last refresher on'),
        ),
        migrations.AlterField(
            model_name='buyerproof',
            name='certification_type',
            field=models.CharField(blank=True, choices=[('type_i', 'Type I: small appliances'), ('type_ii', 'Type II: medium-, high- and very high-pressure appliances'), ('type_iii', 'Type III: low-pressure appliances'), ('universal', 'Universal'), ('section_609', 'Section 609: motor vehicle air conditioning and MVAC-like'), ('eu_a1', 'EU A1: fluorinated gases and hydrocarbons'), ('eu_a2', 'EU A2: as A1, below 3 kg, or 6 kg if hermetically sealed'), ('eu_b', 'EU B: carbon dioxide'), ('eu_c', 'EU C: ammonia'), ('eu_d', 'EU D: recovery below 3 kg, or 6 kg if hermetically sealed'), ('eu_e', 'EU E: leak checks without breaking into the circuit'), ('eu_category_i', 'EU category I, under Regulation 517/2014'), ('eu_category_ii', 'EU category II, under Regulation 517/2014'), ('eu_category_iii', 'EU category III, under Regulation 517/2014'), ('eu_category_iv', 'EU category IV, under Regulation 517/2014'), ('gb_category_i', 'GB category I'), ('gb_category_ii', 'GB category II'), ('gb_category_iii', 'GB category III'), ('gb_category_iv', 'GB category IV')], max_length=20),
        ),
        migrations.AlterField(
            model_name='certification',
            name='type',
            field=models.CharField(choices=[('type_i', 'Type I: small appliances'), ('type_ii', 'Type II: medium-, high- and very high-pressure appliances'), ('type_iii', 'Type III: low-pressure appliances'), ('universal', 'Universal'), ('section_609', 'Section 609: motor vehicle air conditioning and MVAC-like'), ('eu_a1', 'EU A1: fluorinated gases and hydrocarbons'), ('eu_a2', 'EU A2: as A1, below 3 kg, or 6 kg if hermetically sealed'), ('eu_b', 'EU B: carbon dioxide'), ('eu_c', 'EU C: ammonia'), ('eu_d', 'EU D: recovery below 3 kg, or 6 kg if hermetically sealed'), ('eu_e', 'EU E: leak checks without breaking into the circuit'), ('eu_category_i', 'EU category I, under Regulation 517/2014'), ('eu_category_ii', 'EU category II, under Regulation 517/2014'), ('eu_category_iii', 'EU category III, under Regulation 517/2014'), ('eu_category_iv', 'EU category IV, under Regulation 517/2014'), ('gb_category_i', 'GB category I'), ('gb_category_ii', 'GB category II'), ('gb_category_iii', 'GB category III'), ('gb_category_iv', 'GB category IV')], max_length=20),
        ),
        migrations.AlterField(
            model_name='historicalcertification',
            name='type',
            field=models.CharField(choices=[('type_i', 'Type I: small appliances'), ('type_ii', 'Type II: medium-, high- and very high-pressure appliances'), ('type_iii', 'Type III: low-pressure appliances'), ('universal', 'Universal'), ('section_609', 'Section 609: motor vehicle air conditioning and MVAC-like'), ('eu_a1', 'EU A1: fluorinated gases and hydrocarbons'), ('eu_a2', 'EU A2: as A1, below 3 kg, or 6 kg if hermetically sealed'), ('eu_b', 'EU B: carbon dioxide'), ('eu_c', 'EU C: ammonia'), ('eu_d', 'EU D: recovery below 3 kg, or 6 kg if hermetically sealed'), ('eu_e', 'EU E: leak checks without breaking into the circuit'), ('eu_category_i', 'EU category I, under Regulation 517/2014'), ('eu_category_ii', 'EU category II, under Regulation 517/2014'), ('eu_category_iii', 'EU category III, under Regulation 517/2014'), ('eu_category_iv', 'EU category IV, under Regulation 517/2014'), ('gb_category_i', 'GB category I'), ('gb_category_ii', 'GB category II'), ('gb_category_iii', 'GB category III'), ('gb_category_iv', 'GB category IV')], max_length=20),
        ),
        migrations.AlterField(
            model_name='historicalinstrument',
            name='division_unit',
            field=models.CharField(choices=[('g', 'g'), ('kg', 'kg'), ('oz', 'oz'), ('lb', 'lb'), ('micron', 'micron'), ('inHg', 'in Hg'), ('psi', 'psi'), ('kPa', 'kPa'), ('g/yr', 'g/yr'), ('oz/yr', 'oz/yr'), ('ppm', 'ppm')], max_length=10, verbose_name='unit'),
        ),
        migrations.AlterField(
            model_name='historicalinstrument',
            name='kind',
            field=models.CharField(choices=[('scale', 'Scale'), ('pressure_gauge', 'Pressure gauge or manifold'), ('vacuum_gauge', 'Vacuum gauge'), ('leak_detector', 'Leak detector')], max_length=20),
        ),
        migrations.AlterField(
            model_name='instrument',
            name='division_unit',
            field=models.CharField(choices=[('g', 'g'), ('kg', 'kg'), ('oz', 'oz'), ('lb', 'lb'), ('micron', 'micron'), ('inHg', 'in Hg'), ('psi', 'psi'), ('kPa', 'kPa'), ('g/yr', 'g/yr'), ('oz/yr', 'oz/yr'), ('ppm', 'ppm')], max_length=10, verbose_name='unit'),
        ),
        migrations.AlterField(
            model_name='instrument',
            name='kind',
            field=models.CharField(choices=[('scale', 'Scale'), ('pressure_gauge', 'Pressure gauge or manifold'), ('vacuum_gauge', 'Vacuum gauge'), ('leak_detector', 'Leak detector')], max_length=20),
        ),
        migrations.AddConstraint(
            model_name='certification',
            constraint=models.CheckConstraint(condition=models.Q(('ended_on__isnull', True), models.Q(('ended_because', ''), _negated=True), _connector='OR'), name='jobs_certification_ended_says_why', violation_error_message='Expected why it no longer counts.'),
        ),
    ]
