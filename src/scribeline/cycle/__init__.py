"""The engine turning: gas dynamics at one speed, over a power curve, in batches. Empty so far."""
