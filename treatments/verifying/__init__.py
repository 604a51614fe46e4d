"""Checks the whole journal: against itself, its checkpoints, copies from outside and the records.

It stops at nothing and holds little in memory, however long the journal is.
"""

from treatments.verifying.book import verify_book
from treatments.verifying.exports import verify_export
from treatments.verifying.kept_tables import KeptTable, LastToldTable
from treatments.verifying.verdict import Verdict

__all__ = ["KeptTable", "LastToldTable", "Verdict", "verify_book", "verify_export"]
