"""How the notebook's tables came to be what they are: one step per file in versions/, never changed once published.

SQLite cannot change a table in place, so such a step copies it (`op.batch_alter_table`), and the copy has lost its
triggers: a step that does this to a guarded table makes the triggers again.
"""
