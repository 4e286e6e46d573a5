"""Equations as MathML, which browsers set themselves: no script, no network, no TeX."""

from __future__ import annotations

from docutils import nodes
from latex2mathml.converter import convert
from sphinx.application import Sphinx
from sphinx.util.math import get_node_equation_number
from sphinx.writers.html5 import HTML5Translator


def setup(app: Sphinx) -> dict[str, bool]:
    """Register the renderer that `html_math_renderer` names."""
    app.add_html_math_renderer("mathml", (inline, None), (display, None))
    return {"parallel_read_safe": True}


def inline(self: HTML5Translator, node: nodes.math) -> None:
    """Set a formula within a line."""
    self.body.append(convert(node.astext()))
    raise nodes.SkipNode


def display(self: HTML5Translator, node: nodes.math_block) -> None:
    """Set a formula on its own line, with its number and a link to it where it has one."""
    self.body.append('<div class="math">')  # its wrapper has the id
    if node["number"]:
        self.body.append(f'<span class="eqno">({get_node_equation_number(self, node)})')
        self.add_permalink_ref(node, "Link to this equation")
        self.body.append("</span>")
    self.body.append(convert(node.astext(), display="block"))
    self.body.append("</div>\n")
    raise nodes.SkipNode
