"""The invented builds on paper, against themselves: outline and number of pages."""

from __future__ import annotations

import io

import pypdf
import pytest
from tests.documents_makers import BUILD, measured

OUTLINE = [
    "Conventions of this engine",
    "What is known, and what is not",
    "Open questions",
    "Accepted by decision",
    "Fits",
    "Form pictures",
    "Uncertainty of the tightest fits",
    "Balance and torsion",
    "At work",
    "Gauges and settings",
    "Every reading",
    "Parts, work and notes",
    "The usual cautions",
    "Signatures",
]


def titles(outline):
    return [item.title for item in outline if not isinstance(item, list)]


@pytest.mark.parametrize(("engine", "least", "most"), [("flat-four", 20, 34), ("v8", 30, 46)])
def test_outline_and_pages(tmp_path, engine, least, most):
    workshop = measured(tmp_path, engine)
    book = pypdf.PdfReader(io.BytesIO(workshop.book(BUILD)))
    workshop.close()
    assert titles(book.outline) == OUTLINE
    assert least <= len(book.pages) <= most
