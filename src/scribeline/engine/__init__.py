"""The engine record: what was measured, each number with its +/- and instrument; nothing derived."""
