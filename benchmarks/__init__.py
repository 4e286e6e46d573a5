"""Speed and accuracy, measured by scripts that anyone can run: `python -m benchmarks.accuracy`."""
