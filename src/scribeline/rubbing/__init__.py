"""From the photograph of a pencil rubbing to port outlines. Empty so far."""
