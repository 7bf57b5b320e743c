"""Published tables and constants, each with a neighbour that says where it came from."""
