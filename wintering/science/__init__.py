"""What can be computed: numbers and small frozen dataclasses in, the same out.

Nothing here knows Django, a database, the clock or a log. Temperatures are °C, hours
are counted since 1970-01-01 00:00 UTC, days are the keeper's local days.
"""
