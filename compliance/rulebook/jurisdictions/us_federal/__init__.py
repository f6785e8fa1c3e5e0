"""United States, federal: 40 CFR 82.157 (ozone-depleting refrigerants) and 40 CFR 84.106 (hydrofluorocarbons)."""
