"""Which metal to remove, in which order, how far. So far: the limits the card warns about."""
