"""Sets a paper as PDF. Loaded by the process that prints and by no other: the renderer is large and slow to start."""

from collections.abc import Mapping

from weasyprint import CSS, HTML, Attachment
from weasyprint.text.fonts import FontConfiguration
from weasyprint.urls import FatalURLFetchingError, URLFetcher, URLFetcherResponse

from shop.fonts import FontFile, font_faces, font_files
from shop.printing import FACTS_NAME, VARIANT, NotPrinted, Printed


class OnlyOurs(URLFetcher):
    """Serves what the paper brought along and its fonts; anything else ends the printing.

    An ordinary error would be swallowed, and a certificate printed without its photo.
    """

    def __init__(self, served: Mapping[str, tuple[str, bytes]]) -> None:
        super().__init__(allowed_protocols=("photo", "font", "css", "static"))
        self.served = served
        self.fonts = {font_address(font): font for font in font_files()}

    def fetch(self, url: str, headers: object = None) -> URLFetcherResponse:
        if url in self.fonts:
            return URLFetcherResponse(url, self.fonts[url].path.read_bytes(), {"Content-Type": "font/ttf"})
        if url in self.served:
            kind, data = self.served[url]
            return URLFetcherResponse(url, data, {"Content-Type": kind})
        raise FatalURLFetchingError(f"The paper asks for {url[:120]}, which was not brought along.")


def font_address(font: FontFile) -> str:
    return f"font:{font.family.lower().replace(' ', '-')}-{font.weight}"


def typeset(paper: Printed) -> bytes:
    """The PDF's bytes: PDF/A-3a, tagged, fonts embedded, facts attached. NotPrinted for a missing part."""
    fetcher = OnlyOurs(paper.served)
    try:
        return _write(paper, fetcher)
    except FatalURLFetchingError as fault:
        # It is no Exception, so a pool or a view would let it through; what it says is kept.
        raise NotPrinted(str(fault)) from None


def _write(paper: Printed, fetcher: OnlyOurs) -> bytes:
    fonts = FontConfiguration()
    sheets = [
        CSS(string=text, font_config=fonts, url_fetcher=fetcher, base_url="css:paper")
        for text in (font_faces(font_address), paper.css)
    ]
    return HTML(string=paper.html, url_fetcher=fetcher, base_url="static:paper").write_pdf(
        stylesheets=sheets,
        font_config=fonts,
        attachments=[_facts(paper)] if paper.facts else [],
        pdf_variant=VARIANT,
        pdf_identifier=paper.mark.encode(),
    )


def _facts(paper: Printed) -> Attachment:
    return Attachment(
        string=paper.facts,
        name=FACTS_NAME,
        description="What this certificate states, as data",
        relationship="Data",
        created=paper.made,
        modified=paper.made,
    )
