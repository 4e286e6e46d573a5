"""One self-contained page of what runs found: for a client, a reviewer, a builder."""

from hygro.page.report import report

__all__ = ["report"]
