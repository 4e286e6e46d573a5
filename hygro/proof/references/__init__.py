"""Solutions the engine is held against: exact, similarity or series, written without the engine.

Modules here import numpy and scipy and each other, and nothing else of the package: a reference
that shared code with the solver would only compare the solver with itself.
"""
