"""One folder per format a test run can arrive in: recognise it, read it. Empty so far."""
