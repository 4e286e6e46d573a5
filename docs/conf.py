"""The documentation site: `python -m sphinx -W --keep-going docs results/site`."""

from __future__ import annotations

import sys
from pathlib import Path

sys.path[:0] = [str(Path(__file__).parent), str(Path(__file__).parents[1])]

from hygro import __version__  # noqa: E402 (the folder above must be on the path)

project = "hygro"
author = "The hygro contributors"
copyright = author
release = version = __version__

extensions = [
    "myst_nb",
    "sphinx.ext.autodoc",
    "sphinx.ext.napoleon",
    "extensions.mathml",
    "extensions.public_names",
    "extensions.question_figures",
]
exclude_patterns = ["extensions", "measured", "results", "_made"]

html_theme = "furo"
html_static_path = ["_static"]
html_css_files = ["site.css"]
html_title = f"hygro {release}"
html_math_renderer = "mathml"

myst_enable_extensions = ["dollarmath"]
myst_heading_anchors = 4
myst_links_external_new_tab = False
nb_execution_mode = "off"  # a test runs the notebooks

default_role = "code"
napoleon_google_docstring = False
napoleon_use_rtype = False
autodoc_typehints = "none"
autodoc_member_order = "bysource"
autodoc_preserve_defaults = True
suppress_warnings = ["ref.python"]  # words in the types of arguments are no links
