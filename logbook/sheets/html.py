"""A sheet as one HTML page that needs nothing else: no network, no script, no other file.

Jinja2 escapes every text; pictures come finished from the `svg_` modules. The page is read on a
phone, on a screen by day and by night, and on paper of either size.
"""

from __future__ import annotations

from base64 import b64encode
from collections.abc import Iterable, Iterator, Sequence
from functools import lru_cache
from hashlib import sha256
from itertools import chain, count, takewhile
from pathlib import Path
from typing import TYPE_CHECKING, Any

from markupsafe import Markup

from logbook.sheets.blocks import Block, Chart, Facts, Heading
from logbook.sheets.book_names import plain_name
from logbook.sheets.html_cards import View, column_rules
from logbook.sheets.html_charts import above_chart, small_print
from logbook.sheets.html_views import block_view
from logbook.sheets.looks import Look, Sheet
from logbook.sheets.printed import printed
from logbook.sheets.signs import in_print

if TYPE_CHECKING:
    from jinja2 import Environment

SUFFIX = ".html"
TEMPLATES = Path(__file__).parent / "templates"
_POLICY = "content-policy-comes-here"
_NONE = "'none'"
_IDS_OF_OURS = ("sheet", "deck", "stage", "play-data", "found", "words", "told")


def draw(sheet: Sheet, look: Look) -> str:
    """Return the sheet as a page."""
    return draw_page(sheet, look, plays=look.plays)


def draw_page(
    sheet: Sheet,
    look: Look,
    *,
    links: Sequence[tuple[str, str]] = (),
    here: str = "",
    related: Sequence[object] = (),
    made_by: str = "logbook",
    paper: str = "",
    plays: str = "",
    styles: str = "",
) -> str:
    """Return the sheet as a page with links to others on top: (address, text) each.

    `here` is the text of the link that is this page itself; `related` are links for the foot of
    the page, with `address`, `text` and `aside`. `paper` fixes what it is printed on. `plays` is
    what `play_data` has to say of a page that plays, empty for one that does not. `styles` is the
    address of a file with `style_sheet`; without it all of that stands in the page.
    """
    head, sections = _sections(_titled(sheet), look, sheet.title)
    return render(
        "sheet.html",
        title=sheet.title,
        kind=sheet.kind,
        head=head,
        sections=sections,
        links=links,
        here=here,
        made_by=made_by,
        related=related,
        left_handed=look.left_handed,
        paper=paper,
        feet=[_css_text(foot) for foot in _feet(sheet)],
        plays=Markup(plays),
        styles=styles,
    )


def _feet(sheet: Sheet) -> tuple[str, ...]:
    """What stands at the foot of pages: the song, and the part, for every part in turn."""
    parts = [block.text for block in sheet.blocks if isinstance(block, Heading) and block.of_part]
    return tuple(f"{sheet.title}, {part}" for part in parts) or (sheet.title,)


def _css_text(text: str) -> Markup:
    """Return text as a string of a style sheet, in which nothing ends it or its element."""
    safe = "".join(
        each if each.isalnum() or each in " .,:-" else f"\\{ord(each):x} " for each in text
    )
    return Markup(f'"{safe}"')


@lru_cache(maxsize=1)
def style_sheet() -> str:
    """Return how every page looks, for pages that share a file of it."""
    return (TEMPLATES / "sheet.css").read_text(encoding="utf-8")


def render(template: str, *, styles: str = "", **values: Any) -> str:
    """Return a page of a template of ours, which lets nothing in that it was not made with.

    Its content policy names its own styles and scripts by their digests, so that whatever a name
    in the log says can neither run nor load anything.
    """
    page = environment().get_template(template).render(styles=styles, **values)
    return page.replace(_POLICY, _policy(page), 1)


def _policy(page: str) -> str:
    styles = " ".join(_digests(page, "<style>", "</style>"))
    scripts = " ".join(_digests(page, "<script>", "</script>"))
    if '<link rel="stylesheet"' in page:
        styles = f"'self' {styles}"
    media = " media-src 'self';" if 'id="play-data"' in page else ""
    return (
        f"default-src 'none'; style-src {styles}; script-src {scripts or _NONE};{media} "
        f"base-uri {_NONE}; form-action {_NONE}"
    )


def _digests(page: str, start: str, end: str) -> Iterator[str]:
    """The digests of the elements that begin so; text of the log has no such sign in it."""
    at = page.find(start)
    while at >= 0:
        first = at + len(start)
        last = page.index(end, first)
        sum_ = sha256(page[first:last].encode("utf-8", "replace")).digest()
        yield f"'sha256-{b64encode(sum_).decode()}'"
        at = page.find(start, last)


@lru_cache(maxsize=1)
def environment() -> Environment:
    """What templates are read with: every text is escaped, and a name not given is a mistake."""
    from jinja2 import Environment, FileSystemLoader, StrictUndefined

    class OfViews(Environment):
        """Views are dictionaries, so `view.name` is looked up as what it nearly always is."""

        def getattr(self, obj: Any, attribute: str) -> Any:
            if type(obj) is dict and attribute in obj:
                return obj[attribute]
            return super().getattr(obj, attribute)

    made = OfViews(
        loader=FileSystemLoader(TEMPLATES),
        autoescape=True,
        trim_blocks=True,
        lstrip_blocks=True,
        undefined=StrictUndefined,
        auto_reload=False,
    )
    made.globals["column_rules"] = column_rules
    return made


def _anchor(block: Heading, taken: set[str]) -> str:
    """An anchor after what the heading says, so that it stays where others come and go."""
    name = _not_ours(plain_name(block.text) or "section")
    of_version = _not_ours(plain_name(f"{block.of_version} {block.text}") or name)
    first = (name, of_version, f"{name}-section")
    numbered = (f"{of_version}-{number}" for number in count(2))
    found = next(each for each in chain(first, numbered) if each not in taken)
    taken.add(found)
    return found


def _not_ours(name: str) -> str:
    """Keep off the anchors of pictures and of the player, which begin with one letter."""
    return f"section-{name}" if f"{name}-".startswith(("p-", "s-")) else name


def _titled(sheet: Sheet) -> tuple[Block, ...]:
    """The blocks of a page, which has a title of its own even where the screen needs none."""
    if any(isinstance(block, Heading) and block.level == 1 for block in sheet.blocks):
        return sheet.blocks
    return (Heading(1, sheet.title, sheet.kind), *sheet.blocks)


def _below(blocks: Sequence[Block]) -> Iterator[Block]:
    """What stands below a chart in the same section."""
    return takewhile(lambda each: not (isinstance(each, Heading) and each.level < 3), blocks)


def _large(blocks: Sequence[Block]) -> Facts | None:
    """The last facts in large type among blocks."""
    return next((each for each in reversed(blocks) if isinstance(each, Facts) and each.large), None)


def _sections(blocks: Iterable[Block], look: Look, title: str) -> tuple[list[View], list[View]]:
    """What stands above the first section of a sheet of this title, and its sections."""
    head: list[View] = []
    sections: list[View] = []
    views = head
    taken = set(_IDS_OF_OURS)
    parts = 0
    blocks = tuple(blocks)
    for at, block in enumerate(blocks):
        if isinstance(block, Heading) and block.level == 2:
            views = []
            parts += block.of_part
            sections.append(
                {
                    "id": _anchor(block, taken),
                    "title": block.text,
                    "aside": in_print(block.aside),
                    "views": views,
                    "on_own_page": block.of_part,
                    "foot": max(parts, 1),
                    "part": (block.about or block.text) if block.of_version else "",
                    "version": block.of_version,
                }
            )
        else:
            if isinstance(block, Chart) and block.stage:
                below = small_print(tuple(_below(blocks[at + 1 :])), look.page[0])
                on_top = title if parts == 1 else ""
                above = above_chart(on_top, _large(blocks[:at]), look.page[0])
                look = look._replace(beside=(above, below))
            views.append(block_view(printed(block), look))
    return head, sections
