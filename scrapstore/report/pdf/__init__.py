"""Cutting sheets and templates on paper, as PDF. Import the file that is needed."""

__all__: list[str] = []
