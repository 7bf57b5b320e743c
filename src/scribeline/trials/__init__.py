"""From recorded runs to an honest verdict. Empty so far."""
