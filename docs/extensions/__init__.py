"""What the documentation site adds to Sphinx: mathematics, public names, figures of questions."""
