"""A profile as DXF, in the drawing's unit, through ezdxf; audited before it leaves."""

from __future__ import annotations

import io
from contextlib import contextmanager
from typing import TYPE_CHECKING

from advisor.ground.errors import InputError
from advisor.ground.units import INCH

if TYPE_CHECKING:
    from collections.abc import Iterator
    from types import ModuleType
    from typing import Any

    from advisor.drawing.edge_profile import Profile


# Layer: colour number and line type.
LAYERS = {
    "EDGE": (7, "CONTINUOUS"),
    "EDGE_ON_FACE": (5, "DASHED"),
    "PLAIN_ARC": (8, "DASHDOT"),
    "BLANK": (7, "CONTINUOUS"),
    "TEMPLATE_MIN": (3, "CONTINUOUS"),
    "TEMPLATE_MAX": (1, "CONTINUOUS"),
    "NOTES": (7, "CONTINUOUS"),
}


def _library() -> ModuleType:
    try:
        import ezdxf
    except ImportError:
        problem = "needs the DXF library ezdxf, which is not installed"
        raise InputError("output", "", problem, "Run: pip install ezdxf") from None
    return ezdxf


@contextmanager
def _without_date(ezdxf: ModuleType) -> Iterator[None]:
    """Within it the library writes no moment and no random mark: the same profile is the same file."""
    before = ezdxf.options.write_fixed_meta_data_for_testing
    ezdxf.options.write_fixed_meta_data_for_testing = True
    try:
        yield
    finally:
        ezdxf.options.write_fixed_meta_data_for_testing = before


def document(profile: Profile) -> Any:
    """A Profile as an ezdxf document: every outline on its own layer, units in the header."""
    ezdxf = _library()
    with _without_date(ezdxf):
        return _document(profile, ezdxf)


def _document(profile: Profile, ezdxf: ModuleType) -> Any:
    inch = profile.units == "inch"
    factor = 1 / INCH if inch else 1.0
    drawing = ezdxf.new("R2010", setup=["linetypes"])
    drawing.units = ezdxf.units.IN if inch else ezdxf.units.MM
    drawing.header["$MEASUREMENT"] = 0 if inch else 1
    for name, (colour, line) in LAYERS.items():
        drawing.layers.add(name, color=colour, linetype=line)
    space = drawing.modelspace()
    for outline in profile.outlines:
        points = [(x * factor, y * factor, bulge) for x, y, bulge in outline.points]
        space.add_lwpolyline(points, format="xyb", close=outline.closed, dxfattribs={"layer": outline.layer})
    for arc in profile.arcs:
        centre = tuple(c * factor for c in arc.centre)
        space.add_arc(centre, arc.radius * factor, arc.start, arc.end, dxfattribs={"layer": arc.layer})
    for text in profile.texts:
        words = space.add_text(text.words, height=text.height * factor, dxfattribs={"layer": text.layer})
        words.set_placement(tuple(c * factor for c in text.at))
    return drawing


def rendered(profile: Profile) -> bytes:
    """A Profile as the bytes of a DXF file. Raises InputError where the library finds fault with the drawing."""
    drawing = document(profile)
    found = drawing.audit()
    if found.errors:
        raise InputError(
            "profile", "", f"makes a DXF with a fault ({found.errors[0].message})", "Please report this callout."
        )
    stream = io.StringIO()
    with _without_date(_library()):
        drawing.write(stream)
    return stream.getvalue().encode(drawing.output_encoding, errors="dxfreplace")
