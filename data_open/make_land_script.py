"""Make ``exposure/map/base_map/land.js`` from ``natural_earth_land_110m.json``: the same arcs in a small script.

Run it from anywhere: ``python data_open/make_land_script.py``. It touches nothing but that file.
"""

import json
from pathlib import Path

HERE = Path(__file__).parent
TARGET = HERE.parent / "exposure" / "map" / "base_map" / "land.js"


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
  function ring(arcs) {  /* a ring that steps over 180 degrees goes on beyond it; one round a pole closes there */
    var turn = 0, line = arcs.reduce(function (all, number) { return all.concat(arc(number).slice(all.length ? 1 : 0)); }, []);
    line = line.map(function (point, place) {
      var step = place ? point[0] - line[place - 1][0] : 0;
      if (step > 180) turn -= 360;
      if (step < -180) turn += 360;
      return [point[0] + turn, point[1]];
    });
    var first = line[0], last = line[line.length - 1];
    if (Math.abs(last[0] - first[0]) > 180) line = line.concat([[last[0], -90], [first[0], -90], first]);
    var east = easts(line), middle = (Math.min.apply(null, east) + Math.max.apply(null, east)) / 2;
    return moved([line], -360 * Math.round(middle / 360))[0];
  }
  function easts(line) { return line.map(function (point) { return point[0]; }); }
  function moved(polygon, by) {
    return polygon.map(function (line) { return line.map(function (point) { return [point[0] + by, point[1]]; }); });
  }
  var land = [];
  data.polygons.forEach(function (arcs) {
    var polygon = arcs.map(ring), east = easts(polygon[0]);
    land.push(polygon);
    if (Math.min.apply(null, east) < -140) land.push(moved(polygon, 360));
    if (Math.max.apply(null, east) > 140) land.push(moved(polygon, -360));
  });
  return land;"""


if __name__ == "__main__":
    topology = json.loads((HERE / "natural_earth_land_110m.json").read_text("utf-8"))
    TARGET.write_text(land_script(topology), encoding="utf-8")
