"""The lines of the engine card, subject by subject: which derived numbers a record allows, and from what."""
