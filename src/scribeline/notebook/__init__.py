"""The database that keeps every record, build, attachment and trial, with its history.

To this room an engine record is TOML text and nothing more: `scribeline.tasks` has it judged before it comes here.

    address.py      which notebook is meant: a file, or a PostgreSQL URL
    database.py     one transaction for reading, one for writing; SQLite and PostgreSQL made to behave alike
    faults.py       errors of the databases in plain words
    tables.py       the tables as they are now
    migrations/     how they came to be so, one step per file
    schema.py       which step a notebook stands at, and the way from there to the newest
    entries.py      build, revision, attachment; which names and texts are accepted
    rows.py         finding and writing them inside a transaction
    store.py        keeping and reading, one transaction per call
    trials.py       the same for trials: a journal that only grows
    ledger.py       the same for the ledger of each build: predictions, measurements, lessons
    places.py       a place in a JSON document: reading it, putting something there
    journal.py      the work in hand of a build, and the journal of edits that made it
    edits.py        editing it: one transaction per call
    opening.py      opening a notebook where one is, or beginning one
    difference.py   what changed between two records, field by field
    archive.py      the zip a notebook is exported to: its layout, limits and proofs
    exporting.py    notebook -> zip
    importing.py    zip -> empty notebook
"""

from scribeline.notebook.address import Address, resolve
from scribeline.notebook.archive import Archive, open_archive
from scribeline.notebook.difference import Change, differences
from scribeline.notebook.edits import Put, begin_work, edits_after, make_edit, make_edits, turn_back, work_in_hand
from scribeline.notebook.entries import Attachment, Build, BuildSummary, FileToAttach, Kept, Revision
from scribeline.notebook.exporting import export
from scribeline.notebook.importing import restore
from scribeline.notebook.journal import Edit, Work
from scribeline.notebook.ledger import LedgerEntry, LedgerEntryToKeep, add_to_ledger, how_much_of, ledger_entries
from scribeline.notebook.opening import open_notebook
from scribeline.notebook.store import Notebook
from scribeline.notebook.trials import (
    Entry,
    EntryToKeep,
    Trial,
    TrialSummary,
    add_entries,
    begin_trial,
    find_trial,
    last_entry_like,
    last_number,
    trials,
    trials_of,
)

__all__ = [
    "Address",
    "Archive",
    "Attachment",
    "Build",
    "BuildSummary",
    "Change",
    "Edit",
    "Entry",
    "EntryToKeep",
    "FileToAttach",
    "Kept",
    "LedgerEntry",
    "LedgerEntryToKeep",
    "Notebook",
    "Put",
    "Revision",
    "Trial",
    "TrialSummary",
    "Work",
    "add_entries",
    "add_to_ledger",
    "begin_trial",
    "begin_work",
    "differences",
    "edits_after",
    "export",
    "find_trial",
    "how_much_of",
    "last_entry_like",
    "last_number",
    "ledger_entries",
    "make_edit",
    "make_edits",
    "open_archive",
    "open_notebook",
    "resolve",
    "restore",
    "trials",
    "trials_of",
    "turn_back",
    "work_in_hand",
]
