"""Decisions: one plan, one store, one way to say what varies."""
