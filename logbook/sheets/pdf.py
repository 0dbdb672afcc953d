"""A sheet as PDF: the page of the HTML form, printed by WeasyPrint (the extra `pdf`)."""

from __future__ import annotations

from base64 import b64decode

from logbook.errors import LogbookError
from logbook.sheets import html
from logbook.sheets.looks import Look, Sheet

SUFFIX = ".pdf"


def draw(sheet: Sheet, look: Look) -> bytes:
    """Return the sheet as a PDF file.

    Raises LogbookError where WeasyPrint is not installed, or the libraries it needs.
    """
    page = html.draw_page(sheet, look, paper=look.paper)
    try:
        from weasyprint import HTML
    except (ImportError, OSError) as error:  # OSError: Pango and its kin are not there
        raise LogbookError(
            f"PDF needs WeasyPrint, which is not there ({type(error).__name__})",
            "install it with: pip install 'session-logbook[pdf]'; or write HTML and print that, "
            "which comes out the same",
        ) from error
    made = HTML(string=page, url_fetcher=_nothing).write_pdf(pdf_tags=True)
    assert isinstance(made, bytes)
    return made


def _nothing(address: str) -> object:
    """Pictures stand in the page itself; whatever asks for another file does not get it."""
    if address.startswith("data:image/"):
        kind, _, data = address.removeprefix("data:").partition(";base64,")
        return _response(address, kind, b64decode(data))
    raise LogbookError(f"a sheet needs no other file, and {address[:80]} is one", "")


def _response(address: str, kind: str, data: bytes) -> object:
    """Return what WeasyPrint takes for a file: a dictionary once, from version 68 on an object."""
    try:
        from weasyprint.urls import URLFetcherResponse
    except ImportError:
        return {"string": data, "mime_type": kind}
    return URLFetcherResponse(address, data, {"Content-Type": kind})
