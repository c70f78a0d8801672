/* Draws a map from its state. Names from files become text nodes, never markup. No request leaves the machine,
   but for the tiles of a server the user has switched on. */
(function () {
  "use strict";
  var INK = "#1B2228", SOFT = "#4E5A63", PAPER = "#FFFFFF", SEA = "#DCE6E6", LAND = "#F4F6F0", ACCENT = "#1B5C69";
  var PANES = { land: 150, raster: 300, sea: 350, coast: 450, ground: 480, ray: 490, building: 500 };
  var SMALL = 520;

  function tag(name, className, words) {
    var one = document.createElement(name);
    if (className) one.className = className;
    if (words !== undefined && words !== null) one.textContent = String(words);
    return one;
  }

  function corner(position, element) {
    var Holder = L.Control.extend({
      options: { position: position },
      onAdd: function () { L.DomEvent.disableClickPropagation(element); return element; }
    });
    return new Holder();
  }

  function hint(layer, words) {
    if (words) layer.bindTooltip(tag("span", "", words), { className: "exposure-hint", sticky: true });
    return layer;
  }

  window.exposureMap = function (holder, tell) {
    tell = tell || function () {};
    holder.classList.add("exposure-map");
    var map = L.map(holder, { zoomSnap: 0.25, zoomDelta: 1, minZoom: 1, maxZoom: 20, worldCopyJump: false,
      attributionControl: false });
    map.zoomControl.getContainer().querySelectorAll("a").forEach(function (link) { link.removeAttribute("href"); link.tabIndex = 0; });
    var credit = L.control.attribution({ prefix: false }).addTo(map);
    L.control.scale({ imperial: false, position: "bottomright" }).addTo(map);
    Object.keys(PANES).forEach(function (name) {
      map.createPane(name).style.zIndex = PANES[name];
      if (name === "land" || name === "sea" || name === "coast" || name === "raster") map.getPane(name).style.pointerEvents = "none";
    });
    var land = { type: "MultiPolygon", coordinates: window.exposureLand || [] };
    L.geoJSON(land, { pane: "land", interactive: false, style: { stroke: false, fillColor: LAND, fillOpacity: 1 } }).addTo(map);
    L.geoJSON(land, { pane: "coast", interactive: false, style: { fill: false, color: SOFT, weight: 0.8 } }).addTo(map);

    var shown = {}, drawn = {}, controls = {}, state = {}, vertices = [], walls = [], sketch = null, count = 0;
    var figure = tag("div", "exposure-figure");
    figure.setAttribute("aria-live", "off");
    corner("bottomright", figure).addTo(map);

    function replace(name, value, draw) {  /* draw part `name` again only when its value changed */
      var key = JSON.stringify(value === undefined ? null : value);
      if (shown[name] === key) return;
      shown[name] = key;
      if (drawn[name]) { drawn[name].remove(); drawn[name] = null; }
      if (value !== undefined && value !== null) drawn[name] = draw(value);
    }

    function pin(name, value, position, build) {
      replace("pin-" + name, value, function (given) { return corner(position, build(given)).addTo(map); });
    }

    function group(layers) { return L.layerGroup(layers).addTo(map); }

    function drawRaster(raster) {
      return L.imageOverlay(raster.uri, raster.bounds, { pane: "raster", className: "exposure-raster", alt: "",
        opacity: raster.opacity === undefined ? 1 : raster.opacity, interactive: false }).addTo(map);
    }

    function drawCoast(coast) {
      var layers = [];
      if (coast.hide_sea) {
        var around = [[-85, -540], [-85, 540], [85, 540], [85, -540]];
        layers.push(L.polygon([around].concat(coast.rings), { pane: "sea", stroke: false, fillColor: SEA, fillOpacity: 1,
          interactive: false }));
      }
      coast.rings.forEach(function (ring) {
        layers.push(L.polygon(ring, { pane: "land", stroke: false, fillColor: LAND, fillOpacity: 1, interactive: false }));
        layers.push(L.polyline(ring.concat([ring[0]]), { pane: "coast", color: INK, weight: 1, interactive: false,
          smoothFactor: 0.6 }));
      });
      return group(layers);
    }

    function drawPlaces(places) {
      return group(places.map(function (place) {
        var body = tag("span", "exposure-place" + (place.chosen ? " chosen" : "") + (place.west ? " west" : ""));
        body.appendChild(tag("i", "", place.label));
        body.appendChild(tag("b", "", place.name));
        var marker = L.marker([place.latitude, place.longitude], { keyboard: !!state.clickable, riseOnHover: true,
          zIndexOffset: place.chosen ? 1000 : 0,
          icon: L.divIcon({ html: body, className: "exposure-pin", iconSize: place.west ? null : [44, 44],
            iconAnchor: [22, 22] }) });
        marker.on("add", function () {
          var element = marker.getElement();
          if (place.west) {
            element.style.width = "auto";
            element.style.marginLeft = (22 - element.offsetWidth) + "px";
          }
          element.setAttribute("role", state.clickable ? "button" : "img");
          element.setAttribute("aria-label", place.label + " " + place.name + (place.note ? ", " + place.note : "") +
            (place.chosen ? ", chosen" : ""));
          if (state.clickable) element.setAttribute("aria-pressed", place.chosen ? "true" : "false");
          element.addEventListener("keydown", function (event) {
            if (event.key !== "Enter" && event.key !== " ") return;
            event.preventDefault();
            choose();
          });
        });
        function choose() {
          if (!state.drawing) say({ kind: "place", name: place.name, latitude: place.latitude, longitude: place.longitude });
        }
        marker.on("click", choose);
        return hint(marker, place.note);
      }));
    }

    function drawPoint(point) {
      var at = [point.latitude, point.longitude];
      return group([
        L.circleMarker(at, { pane: "building", radius: 9, color: PAPER, weight: 5, fill: false, interactive: false }),
        L.circleMarker(at, { pane: "building", radius: 9, color: INK, weight: 2.5, fill: false, interactive: false }),
        L.circleMarker(at, { pane: "building", radius: 2, color: INK, weight: 2, fillColor: INK, fillOpacity: 1, interactive: false })
      ]);
    }

    function drawBuilding(building) {
      var layers = [L.polygon(building.ring, { pane: "building", color: INK, weight: 1, fillColor: PAPER, fillOpacity: 1 })];
      hint(layers[0], building.name);
      (building.walls || []).forEach(function (wall) {  /* ink below, colour above: an outline in every tone */
        layers.push(L.polyline([wall.from, wall.to], { pane: "building", color: INK, lineCap: "butt", worst: wall.worst, edge: true }));
        layers.push(hint(L.polyline([wall.from, wall.to], { pane: "building", color: wall.colour, lineCap: "butt",
          worst: wall.worst }), wall.words));
      });
      walls = layers.slice(1);
      setWallWidths();
      return group(layers);
    }

    function setWallWidths() {  /* as wide as 1.2 m of ground, within what can be seen and told apart */
      var pixel = 40075017 * Math.cos(map.getCenter().lat * Math.PI / 180) / Math.pow(2, map.getZoom() + 8);
      var width = Math.max(2.5, Math.min(8, 1.2 / pixel));
      walls.forEach(function (wall) {
        wall.setStyle({ weight: width * (wall.options.worst ? 1.4 : 1) + (wall.options.edge ? 1.8 : 0) });
      });
    }

    function drawNeighbours(neighbours) {
      return group(neighbours.map(function (one) {
        return hint(L.polygon(one.ring, { pane: "ground", color: one.counts ? INK : SOFT, weight: one.counts ? 1.5 : 0.75,
          fillColor: one.colour, fillOpacity: 1 }), one.words);
      }));
    }

    function drawRays(rays) {
      return group(rays.map(function (ray) {
        return L.polyline([ray.from, ray.to], { pane: "ray", color: ray.hit ? INK : ACCENT, weight: ray.hit ? 1.75 : 1,
          dashArray: ray.hit ? null : "3 5", interactive: false });
      }));
    }

    function drawRing(ring) {
      var layers = [];
      ring.sectors.forEach(function (sector) {
        layers.push(hint(L.polygon(sector.outline, { pane: "ground", color: INK, weight: 0.75, fillColor: sector.colour,
          fillOpacity: 0.55 }), sector.words));
        layers.push(L.marker(sector.middle, { interactive: false, keyboard: false,
          icon: L.divIcon({ html: tag("b", "", sector.label), className: "exposure-sector", iconSize: [24, 18] }) }));
      });
      return group(layers);
    }

    function buildLegend(legend) {
      var box = tag("div", "exposure-legend");
      box.appendChild(tag("b", "", legend.title));
      if (legend.colours) {
        var bar = tag("div", "exposure-bar"), ticks = tag("div", "exposure-ticks");
        legend.colours.forEach(function (colour) { bar.appendChild(tag("i")).style.background = colour; });
        legend.ticks.forEach(function (tick) {
          ticks.appendChild(tag("span", "", tick.words)).style.left = 100 * tick.place + "%";
        });
        box.appendChild(bar);
        box.appendChild(ticks);
      }
      (legend.keys || []).forEach(function (key) {
        var row = tag("div", "exposure-key"), swatch = tag("i");
        swatch.style.cssText = "flex:none;width:18px;height:12px;border:1px solid #1B2228;background:" + key.colour;
        row.appendChild(swatch);
        row.appendChild(tag("span", "", key.words));
        box.appendChild(row);
      });
      if (legend.note) box.appendChild(tag("small", "", legend.note));
      return box;
    }

    function say(message) {
      count += 1;
      message.count = count;
      message.stamp = Date.now();
      tell(message);
    }

    /* Drawing a footprint: a click a corner, then "Close" or a double click; Escape starts again. */
    function buildDrawing() {
      var box = tag("div", "exposure-draw"), back = tag("button", "", "Undo corner"), close = tag("button", "", "Close footprint");
      back.type = close.type = "button";
      back.onclick = function () { vertices.pop(); showSketch(); };
      close.onclick = closeSketch;
      box.appendChild(back);
      box.appendChild(close);
      box.refresh = function () { back.disabled = !vertices.length; close.disabled = vertices.length < 3; };
      controls.drawing = box;
      box.refresh();
      return box;
    }

    function closeSketch() {
      var corners = vertices.filter(function (at, number) { return !number || at.distanceTo(vertices[number - 1]) > 0.05; });
      if (corners.length < 3) return;
      vertices = [];
      showSketch();
      say({ kind: "footprint", ring: corners.map(function (at) { return [at.lat, at.lng]; }) });
    }

    function showSketch() {
      if (sketch) { sketch.remove(); sketch = null; }
      if (vertices.length) {
        sketch = group([L.polygon(vertices, { pane: "building", color: INK, weight: 2, dashArray: "5 4", fillColor: ACCENT,
          fillOpacity: 0.15, interactive: false })].concat(vertices.map(function (at) {
          return L.circleMarker(at, { pane: "building", radius: 5, color: INK, weight: 2, fillColor: PAPER, fillOpacity: 1, interactive: false });
        })));
      }
      if (controls.drawing) controls.drawing.refresh();
    }

    map.on("click", function (event) {
      if (state.drawing) { vertices.push(event.latlng); showSketch(); return; }
      if (!state.clickable) return;
      var at = event.latlng.wrap();
      say({ kind: "point", latitude: at.lat, longitude: at.lng });
    });

    map.on("dblclick", function () { if (state.drawing) closeSketch(); });
    holder.addEventListener("keydown", function (event) {
      if (!state.drawing || !vertices.length) return;
      if (event.key === "Escape") { vertices = []; showSketch(); }
      if (event.key === "Backspace") { vertices.pop(); showSketch(); }
    });

    map.on("zoomend", setWallWidths);
    map.on("mousemove", function (event) { figure.textContent = state.figures ? figureAt(event.latlng) : ""; });
    map.on("mouseout", function () { figure.textContent = ""; });

    function nearest(axis, value) {
      var step = axis.length > 1 ? (axis[axis.length - 1] - axis[0]) / (axis.length - 1) : 1;
      var place = Math.round((value - axis[0]) / step);
      return place >= 0 && place < axis.length ? place : -1;
    }

    function figureAt(at) {
      var figures = state.figures, row = nearest(figures.latitudes, at.lat), column = nearest(figures.longitudes, at.lng);
      if (column < 0) column = nearest(figures.longitudes, at.lng + 360);
      if (row < 0 || column < 0) return "";
      var value = figures.values[row * figures.longitudes.length + column];
      return value === null ? "" : value.toLocaleString("en") + " " + figures.unit;
    }

    function tiles(given) {
      return L.tileLayer(given.address, { attribution: given.credit, maxZoom: 19, errorTileUrl:
        "data:image/gif;base64,R0lGODlhAQABAAAAACH5BAEKAAEALAAAAAABAAEAAAICTAEAOw==" }).addTo(map);
    }

    function size() {
      holder.classList.toggle("exposure-small", holder.clientWidth < SMALL);
      map.invalidateSize({ animate: false });
    }

    function update(given) {
      state = given;
      size();
      holder.setAttribute("role", "application");
      holder.setAttribute("aria-label", given.label || "Map");
      var view = JSON.stringify(given.view || null);
      if (given.view && shown.view !== view) {
        shown.view = view;
        if (given.view.bounds) {
          var room = !given.legend ? 6 : holder.clientWidth < SMALL ? 84 : 64;  /* the legend lies below the land */
          map.fitBounds(given.view.bounds, { animate: false, paddingTopLeft: [6, 6], paddingBottomRight: [6, room] });
        } else {
          map.setView([given.view.latitude, given.view.longitude], given.view.zoom, { animate: false });
        }
      }
      var online = given.tiles || null;
      replace("tiles", online, tiles);
      ["land", "sea", "coast"].forEach(function (name) { map.getPane(name).style.display = online ? "none" : ""; });
      replace("raster", given.raster, drawRaster);
      replace("coast", given.coast, drawCoast);
      replace("ring", given.ring, drawRing);
      replace("neighbours", given.neighbours, drawNeighbours);
      replace("rays", given.rays, drawRays);
      replace("building", given.building, drawBuilding);
      replace("point", given.point, drawPoint);
      replace("places", given.places, drawPlaces);
      pin("notice", given.notice, "topright", function (words) { return tag("div", "exposure-notice", words); });
      pin("legend", given.legend, "bottomleft", buildLegend);
      pin("drawing", given.drawing || null, "topleft", buildDrawing);
      if (!given.drawing && vertices.length) { vertices = []; showSketch(); }
      map.doubleClickZoom[given.drawing ? "disable" : "enable"]();
      holder.style.cursor = given.drawing ? "crosshair" : "";
      if (shown.credit !== given.credit) {
        if (shown.credit) credit.removeAttribution(shown.credit);
        if (given.credit) credit.addAttribution(L.Util.trim(tag("span", "", given.credit).innerHTML));
        shown.credit = given.credit;
      }
    }

    if (window.ResizeObserver) new ResizeObserver(size).observe(holder);
    return { update: update, leaflet: map };
  };
})();
