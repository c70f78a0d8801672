/* An outline drawn to scale: metres and bearing of the side under the hand are shown, right angles and tenths of a metre
   are held, and the corners are told once it is closed. Bearings are clockwise from true north. */
(function () {
  "use strict";
  var INK = "#1B2228", SOFT = "#4E5A63", ACCENT = "#1B5C69";
  var HELD = 10, NEAR = 12, FINE = 0.1, SQUARE = 10, REACH = 100;  /* degrees, pixels, then metres */
  var RADIAN = Math.PI / 180, LONG = 6378137, FLAT = 0.00669437999014;  /* the earth's ellipsoid, WGS84 */

  window.exposureSketch = function (map, box, tell) {
    var holder = map.getContainer(), sketch = L.layerGroup().addTo(map), hand = L.layerGroup().addTo(map);
    var lines = L.layerGroup(), origin = null, corners = [], on = false, square = true;
    var angles = button("Right angles"), undo = button("Undo corner"), close = button("Close outline");
    var said = L.DomUtil.create("p", "", box);
    said.setAttribute("role", "status");
    angles.onclick = function () { square = !square; show(); };
    undo.onclick = function () { corners.pop(); show(); };
    close.onclick = finish;

    function button(words) {
      var one = L.DomUtil.create("button", "", box);
      one.type = "button";
      one.textContent = words;
      return one;
    }

    function degree(latitude) {  /* metres that one degree is long there */
      var sine = Math.sin(latitude * RADIAN), round = 1 - FLAT * sine * sine;
      return {
        east: LONG * Math.cos(latitude * RADIAN) * RADIAN / Math.sqrt(round),
        north: LONG * (1 - FLAT) * RADIAN / Math.pow(round, 1.5)
      };
    }

    function metres(at, from) {
      var size = degree(from.lat);
      return { east: (at.lng - from.lng) * size.east, north: (at.lat - from.lat) * size.north };
    }

    function place(corner, from) {
      var size = degree(from.lat);
      return L.latLng(from.lat + corner.north / size.north, from.lng + corner.east / size.east);
    }

    function side(from, to) {
      var east = to.east - from.east, north = to.north - from.north;
      return { length: Math.hypot(east, north), bearing: (Math.atan2(east, north) / RADIAN + 360) % 360 };
    }

    function words(one) { return one.length.toFixed(1) + " m, " + (Math.round(one.bearing) % 360) + "°"; }

    function along(from, bearing, length) {
      return { east: from.east + length * Math.sin(bearing * RADIAN), north: from.north + length * Math.cos(bearing * RADIAN) };
    }

    /* the ways a side may go: at right angles to the first side and to the last */
    function ways() {
      var found = [];
      if (corners.length < 2) return found;
      [side(corners[0], corners[1]), side(corners[corners.length - 2], corners[corners.length - 1])].forEach(function (one) {
        for (var turn = 0; turn < 360; turn += 90) found.push((one.bearing + turn) % 360);
      });
      return found;
    }

    /* the corner the hand means at `at`: held to right angles, tenths of a metre and the first corner */
    function meant(at) {
      if (!corners.length) return { corner: { east: 0, north: 0 } };
      var raw = metres(at, origin), last = corners[corners.length - 1], first = corners[0];
      var reach = NEAR * side(raw, metres(map.containerPointToLatLng(map.latLngToContainerPoint(at).add([1, 0])), origin)).length;
      if (corners.length > 2 && side(raw, first).length < reach) return { corner: first, closes: true };
      var one = side(last, raw), apart = HELD, way = null;
      if (!square) return { corner: raw };
      ways().forEach(function (bearing) {
        var off = Math.abs((one.bearing - bearing + 540) % 360 - 180);
        if (off < apart) { apart = off; way = bearing; }
      });
      if (way === null) return { corner: along(last, Math.round(one.bearing), Math.round(one.length / FINE) * FINE) };
      var length = one.length * Math.cos(apart * RADIAN), back = side(last, first);
      var level = back.length * Math.cos((back.bearing - way) * RADIAN);  /* where the first corner lies abreast */
      if (corners.length > 2 && level > FINE && Math.abs(level - length) < reach)
        return { corner: along(last, way, level), abreast: true };
      return { corner: along(last, way, Math.round(length / FINE) * FINE) };
    }

    function label(from, to, layer, what) {
      var middle = place({ east: (from.east + to.east) / 2, north: (from.north + to.north) / 2 }, origin);
      var tip = L.tooltip({ permanent: true, direction: "center", className: "exposure-size", interactive: false });
      var text = document.createElement("span");
      text.textContent = what || words(side(from, to));
      layer.addLayer(tip.setLatLng(middle).setContent(text));
    }

    function look(more) { return L.extend({ pane: "building", color: INK, weight: 2, interactive: false }, more); }

    function show() {
      var points = corners.map(function (one) { return place(one, origin); }), many = corners.length;
      sketch.clearLayers();
      hand.clearLayers();
      if (many) sketch.addLayer(L.polygon(points, look({ dashArray: "5 4", fillColor: ACCENT, fillOpacity: 0.15 })));
      points.forEach(function (at) {
        sketch.addLayer(L.circleMarker(at, look({ radius: 5, fillColor: "#FFFFFF", fillOpacity: 1 })));
      });
      for (var k = 1; k < many; k++) label(corners[k - 1], corners[k], sketch);
      undo.disabled = !many;
      close.disabled = many < 3;
      angles.setAttribute("aria-pressed", String(square));
      said.textContent = !on ? "" : many < 2 ? "Thin lines: " + SQUARE + " m apart." : "Side " + (many - 1) + ": "
        + words(side(corners[many - 2], corners[many - 1])) + (many > 2 ? ". Left to close: "
        + words(side(corners[many - 1], corners[0])) : "") + ".";
    }

    function follow(at) {
      hand.clearLayers();
      if (!corners.length) return;
      var found = meant(at), last = corners[corners.length - 1];
      hand.addLayer(L.polyline([place(last, origin), place(found.corner, origin)], look({ color: ACCENT })));
      if (found.abreast)
        hand.addLayer(L.polyline([place(found.corner, origin), place(corners[0], origin)], look({ color: SOFT, weight: 1, dashArray: "2 4" })));
      label(last, found.corner, hand, (found.closes ? "Closes: " : "") + words(side(last, found.corner)));
    }

    function take(at) {
      if (!corners.length) origin = at;
      var found = meant(at), last = corners[corners.length - 1];
      if (found.closes) finish();
      else if (!last || side(last, found.corner).length > FINE / 2) { corners.push(found.corner); show(); }
    }

    function finish() {
      if (corners.length < 3) return;
      var ring = corners.map(function (one) { var at = place(one, origin); return [at.lat, at.lng]; });
      corners = [];
      show();
      tell(ring);
    }

    function grid(view) {
      var middle = L.latLng(view.latitude, view.longitude), pairs = [];
      lines.clearLayers();
      for (var k = -REACH; k <= REACH; k += SQUARE) {
        pairs.push([place({ east: k, north: -REACH }, middle), place({ east: k, north: REACH }, middle)]);
        pairs.push([place({ east: -REACH, north: k }, middle), place({ east: REACH, north: k }, middle)]);
      }
      lines.addLayer(L.polyline(pairs, { pane: "coast", color: SOFT, weight: 0.5, interactive: false }));
    }

    map.on("click", function (event) { if (on) take(event.latlng); });
    map.on("dblclick", function () { if (on) finish(); });
    map.on("mousemove", function (event) { if (on) follow(event.latlng); });
    map.on("mouseout", function () { hand.clearLayers(); });
    holder.addEventListener("keydown", function (event) {
      if (!on || (event.key !== "Escape" && event.key !== "Backspace")) return;
      corners = event.key === "Escape" ? [] : corners.slice(0, -1);
      show();
    });

    return function (drawing, view) {
      on = drawing;
      if (!on) corners = [];
      else if (view.bounds === undefined) grid(view);
      if (on) lines.addTo(map); else lines.remove();
      show();
      box.hidden = !on;
      map.doubleClickZoom[on ? "disable" : "enable"]();
      holder.style.cursor = on ? "crosshair" : "";
    };
  };
})();
