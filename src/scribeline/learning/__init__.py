"""Predictions set beside what was measured afterwards. Empty so far."""
