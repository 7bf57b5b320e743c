"""The database that keeps every record, build and attachment, with its history."""
