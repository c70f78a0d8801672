"""A junction as a DXF drawing in millimetres: one CAD layer a material, dimensions that can be measured."""

import io
import re
from collections.abc import Callable, Sequence

import ezdxf
from ezdxf import units
from ezdxf.document import Drawing
from ezdxf.enums import TextEntityAlignment
from ezdxf.lldxf.tagwriter import TagWriter

from exposure.draw.junction_canvas import amount
from exposure.draw.lettering import clean
from exposure.junction.scene import Dimension, Section
from exposure.junction.size_names import size_name

LETTER = 9.0  # mm, height of words: 1.8 mm on paper at 1:5
AWAY = 30.0  # mm from the drawing to the first dimension line
APART = 22.0
MARK = "LADDER_ROW"  # name under which a dimension carries the row it shows
STYLE = "JUNCTION"
STANDING = ("0", "defpoints")  # layers every file has
OF_DIMENSION = "*D"  # how the name of a dimension's block begins
SEED = re.compile(r"(\$HANDSEED\n  5\n).*")  # in the header: the first handle that is not in use
DIMENSIONS, WORDS = "DIMENSIONS", "WORDS"
LEFT, RIGHT = TextEntityAlignment.LEFT, TextEntityAlignment.RIGHT


class Sheet:
    """A CAD file in millimetres with the style of its dimensions, for one drawing after another.

    Sections and tables that are alike in all of them are written the first time alone: they take longer than the drawing.
    """

    def __init__(self) -> None:
        self.doc = _empty()
        self._standing: dict[str, str] = {}

    def clear(self) -> None:
        """Take off what an earlier drawing left: parts, the blocks of its dimensions, its layers."""
        doc = self.doc
        doc.modelspace().delete_all_entities()
        for name in [block.name for block in doc.blocks if block.name.startswith(OF_DIMENSION)]:
            doc.blocks.delete_block(name, safe=False)
        for name in [layer.dxf.name for layer in doc.layers if layer.dxf.name.lower() not in STANDING]:
            doc.layers.remove(name)
        doc.entitydb.purge()

    def text(self) -> str:
        """The file as it is written."""
        doc, tables = self.doc, self.doc.tables
        if not self._standing:
            doc.update_all()
        header = self._once("HEADER", doc.header.export_dxf)
        tables_written = [
            self._once("tables before", _all_of(tables.viewports, tables.linetypes)),
            self._written(tables.layers.export_dxf),
            self._once(
                "tables after",
                _all_of(tables.styles, tables.views, tables.ucs, tables.appids, tables.dimstyles),
            ),
            self._written(tables.block_records.export_dxf),
        ]
        blocks = [
            self._written(each.export_block_definition)
            if each.dxf.name.startswith(OF_DIMENSION)
            else self._once(f"block {each.dxf.name}", each.export_block_definition)
            for each in doc.block_records
        ]
        return "".join(
            [
                SEED.sub(rf"\g<1>{doc.entitydb.handles}", header),
                self._once("CLASSES", doc.classes.export_dxf),
                _section("TABLES", tables_written),
                _section("BLOCKS", blocks),
                self._written(doc.entities.export_dxf),
                self._once("OBJECTS", doc.objects.export_dxf),
                "  0\nEOF\n",
            ]
        )

    def _once(self, name: str, export: Callable[[TagWriter], None]) -> str:
        if name not in self._standing:
            self._standing[name] = self._written(export)
        return self._standing[name]

    def _written(self, export: Callable[[TagWriter], None]) -> str:
        stream = io.StringIO()
        export(TagWriter(stream, dxfversion=self.doc.dxfversion))
        return stream.getvalue()


def _all_of(*tables) -> Callable[[TagWriter], None]:
    def export(tags: TagWriter) -> None:
        for table in tables:
            table.export_dxf(tags)

    return export


def _section(name: str, parts: Sequence[str]) -> str:
    return f"  0\nSECTION\n  2\n{name}\n{''.join(parts)}  0\nENDSEC\n"


def junction_dxf(section: Section, *, heading: Sequence[str] = (), sheet: Sheet | None = None) -> str:
    """Text of a DXF file of ``section``.

    Parameters
    ----------
    heading
        Lines written over the drawing: level, elevations, warnings.
    sheet
        For many drawings one after another; it is cleared and used again.
    """
    sheet = sheet or Sheet()
    sheet.clear()
    doc = sheet.doc
    model = doc.modelspace()
    for material in dict.fromkeys(layer.material for layer in section.layers):
        doc.layers.add(cad_layer(material))
    for name in (DIMENSIONS, WORDS):
        doc.layers.add(name)
    for layer in section.layers:
        look = {"layer": cad_layer(layer.material), "lineweight": 35 if layer.cut else 18}
        model.add_lwpolyline(layer.outline, close=True, dxfattribs=look)
    lanes = {"left": 0, "right": 0, "top": 0, "bottom": 0}
    for one in section.dimensions:
        if not one.is_straight:
            way = one.way or (one.start, one.end)
            drawn = model.add_lwpolyline(way, dxfattribs={"layer": DIMENSIONS, "lineweight": 13})
            drawn.set_xdata(MARK, [(1000, one.key), (1000, one.axis)])
            (ax, ay), (bx, by) = way[-2:]
            said = model.add_text(amount(one), height=LETTER, dxfattribs={"layer": WORDS})
            said.set_placement(((ax + bx) / 2, (ay + by) / 2 + LETTER / 2))
            continue
        _dimension(model, section, one, lanes.get(one.side, 0))
        if one.side in lanes:
            lanes[one.side] += 1
    left, _bottom, right, top = section.box
    for side, x, align in zip(section.sides, (left, right), (LEFT, RIGHT), strict=True):
        said = model.add_text(side, height=LETTER, dxfattribs={"layer": WORDS})
        said.set_placement((x, top + LETTER), align=align)
    for place, line in enumerate([section.title, *heading]):
        said = model.add_text(clean(line, most=200), height=LETTER, dxfattribs={"layer": WORDS})
        said.set_placement((left, top + AWAY * 2 + APART * 3 + LETTER * 1.6 * (len(heading) - place)))
    return sheet.text()


def cad_layer(material: str) -> str:
    """Name of a material's CAD layer.

    Examples
    --------
    >>> cad_layer("damp course")
    'DAMP_COURSE'
    """
    return material.upper().replace(" ", "_")


def _empty() -> Drawing:
    doc = ezdxf.new("R2010", units=units.MM)
    doc.appids.add(MARK)
    doc.dimstyles.new(
        STYLE,
        dxfattribs={
            "dimtxt": LETTER,
            "dimtsz": 4.0,
            "dimexo": 3.0,
            "dimexe": 4.0,
            "dimgap": 2.0,
            "dimdec": 1,
            "dimzin": 8,
        },
    )
    return doc


def _dimension(model, section: Section, one: Dimension, lane: int) -> None:
    left, bottom, right, top = section.box
    away = AWAY + APART * lane
    across = one.axis == "x"
    base = {
        "left": (left - away, one.start[1]),
        "right": (right + away, one.start[1]),
        "top": (one.start[0], top + away),
        "bottom": (one.start[0], bottom - away),
        "within": one.start,
    }[one.side]
    placed = model.add_linear_dim(
        base=base,
        p1=one.start,
        p2=one.end,
        angle=0 if across else 90,
        text=f"{name} <>" if (name := size_name(one)) else "<>",
        dimstyle=STYLE,
        dxfattribs={"layer": DIMENSIONS},
    )
    placed.render()
    placed.dimension.set_xdata(MARK, [(1000, one.key)])
