"""Tests, and the tool that tries them (`python -m tests.mutate`)."""
