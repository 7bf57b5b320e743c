"""What follows from the record by geometry alone."""
