"""Pure: what refrigerants do at given temperatures and pressures. No Django, no records, no law but filling densities.

CoolProp takes seconds and 70 MB to load, so it is imported only inside functions: for the command ``saturation``, and
to compute the table that everything else reads.
"""
