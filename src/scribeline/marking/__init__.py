"""Shapes in millimetres and the thin writers that put them on paper or screen."""
