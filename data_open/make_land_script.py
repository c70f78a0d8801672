"""Make ``exposure/show/base_map/land.js`` from ``natural_earth_land_110m.json``: the same arcs in a small script.

Run it from anywhere: ``python data_open/make_land_script.py``. It touches nothing but that file.
"""

import json
from pathlib import Path

HERE = Path(__file__).parent
TARGET = HERE.parent / "exposure" / "show" / "base_map" / "land.js"


def land_script(topology: dict) -> str:
    """The script that sets ``window.exposureLand`` to a list of polygons (rings of [longitude, latitude])."""
    polygons = [
        polygon
        for one in topology["objects"]["land"]["geometries"]
        for polygon in (one["arcs"] if one["type"] == "MultiPolygon" else [one["arcs"]])
    ]
    data = {
        "scale": topology["transform"]["scale"],
        "translate": topology["transform"]["translate"],
        "arcs": topology["arcs"],
        "polygons": polygons,
    }
    return (
        "/* Land of the world, Natural Earth 1:110 million (public domain), by way of world-atlas 2.0.2. */\n"
        f"window.exposureLand = (function (data) {{\n{DECODE}\n}})({json.dumps(data, separators=(',', ':'))});\n"
    )


DECODE = """  function arc(number) {
    var x = 0, y = 0, back = number < 0;
    var line = data.arcs[back ? ~number : number].map(function (step) {
      x += step[0]; y += step[1];
      return [x * data.scale[0] + data.translate[0], y * data.scale[1] + data.translate[1]];
    });
    return back ? line.reverse() : line;
  }
  function ring(arcs) {
    return arcs.reduce(function (line, number) { return line.concat(arc(number).slice(line.length ? 1 : 0)); }, []);
  }
  return data.polygons.map(function (polygon) { return polygon.map(ring); });"""


if __name__ == "__main__":
    topology = json.loads((HERE / "natural_earth_land_110m.json").read_text("utf-8"))
    TARGET.write_text(land_script(topology), encoding="utf-8")
