"""The MusicXML 4.0 schema (W3C Music Notation Community Group), from the package musicxml."""

from __future__ import annotations

import re
from functools import cache
from importlib.util import find_spec
from pathlib import Path
from typing import Any

import pytest

_XLINK = """<xs:schema xmlns:xs="http://www.w3.org/2001/XMLSchema"
  targetNamespace="http://www.w3.org/1999/xlink">
  <xs:attribute name="href" type="xs:anyURI"/><xs:attribute name="type" type="xs:string"/>
  <xs:attribute name="role" type="xs:string"/><xs:attribute name="title" type="xs:string"/>
  <xs:attribute name="show" type="xs:string"/><xs:attribute name="actuate" type="xs:string"/>
</xs:schema>"""
_XML = """<xs:schema xmlns:xs="http://www.w3.org/2001/XMLSchema"
  targetNamespace="http://www.w3.org/XML/1998/namespace">
  <xs:attribute name="lang" type="xs:language"/><xs:attribute name="space" type="xs:NCName"/>
</xs:schema>"""


@cache
def _schema() -> Any:
    """The schema, its two imports answered from here, since the package leaves one out."""
    etree = pytest.importorskip("lxml.etree")
    spec = find_spec("musicxml")
    if spec is None or not spec.submodule_search_locations:
        pytest.skip("the package musicxml is not installed")
    folder = Path(next(iter(spec.submodule_search_locations)))
    text = (folder / "generate_classes" / "musicxml_4_0.xsd").read_text(encoding="utf-8")

    class Imports(etree.Resolver):  # type: ignore[name-defined]
        def resolve(self, url: str, _id: str, context: Any) -> Any:
            return self.resolve_string(_XLINK if "xlink" in url else _XML, context)

    parser = etree.XMLParser(no_network=True)
    parser.resolvers.add(Imports())
    plain = re.sub(r"^<\?xml[^>]*\?>", "", text)
    return etree.XMLSchema(etree.fromstring(plain, parser))


def assert_valid(text: str) -> None:
    """Fail with what the schema says where a MusicXML file is not valid."""
    from lxml import etree

    schema = _schema()
    document = etree.fromstring(text.encode("utf-8"))
    assert schema.validate(document), str(schema.error_log)
