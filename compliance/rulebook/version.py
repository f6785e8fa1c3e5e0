"""The rulebook's own version, stored with every answer that is kept."""

#: Raised whenever a choice or a calculation changes what the same facts and tables answer.
RULEBOOK_VERSION = "2026.7"
