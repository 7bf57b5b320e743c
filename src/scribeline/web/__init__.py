"""The page in a browser, over the same tasks as the command line. `serving.serve` starts it."""
