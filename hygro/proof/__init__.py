"""Proof of the engine: reference solutions and the published cases; users never need it to run."""
