/* The map under the hand: a click is told at once, a cell tells its figure (an outline is drawn in sketch.js).
   Layers, legend and names come from Python, escaped there; this file makes no markup from words. */
(function () {
  "use strict";
  var SOFT = "#4E5A63", LAND = "#F4F6F0", SMALL = 520, NONE = 65535;

  function setUp(map) {
    var hand = { told: {} };
    var land = { type: "MultiPolygon", coordinates: window.exposureLand || [] };
    L.geoJSON(land, { pane: "land", interactive: false, style: { stroke: false, fillColor: LAND, fillOpacity: 1 } }).addTo(map);
    L.geoJSON(land, { pane: "coast", interactive: false, style: { fill: false, color: SOFT, weight: 0.8 } }).addTo(map);
    map.zoomControl.getContainer().querySelectorAll("a").forEach(function (link) { link.removeAttribute("href"); link.tabIndex = 0; });

    var figure = pin(map, "bottomright", "exposure-figure");
    hand.legend = pin(map, "bottomleft", "exposure-legend");
    hand.notice = pin(map, "topright", "exposure-notice");

    function say(message) {
      message.stamp = Date.now();
      window.Streamlit.setComponentValue(message);
    }

    hand.setDrawing = window.exposureSketch && window.exposureSketch(map, pin(map, "bottomleft", "exposure-draw"), function (ring) {
      say({ kind: "footprint", ring: ring });
    });

    hand.choose = function (marker) {
      var at = marker.getLatLng(), name = marker.getElement().querySelector("b").textContent;
      say({ kind: "place", name: name, latitude: at.lat, longitude: at.lng });
    };
    hand.setWidths = function () {  /* of walls: as wide as the ground they stand for, within what can be told apart */
      var metre = Math.pow(2, map.getZoom() + 8) / 40075017 / Math.cos(map.getCenter().lat * Math.PI / 180);
      hand.group.eachLayer(function (layer) {
        if (layer.options.metres) layer.setStyle({ weight:
          Math.max(2.5, Math.min(8, layer.options.metres * metre)) * layer.options.times + layer.options.more });
      });
    };

    map.on("click", function (event) {
      var at = event.latlng.wrap();
      if (hand.told.clickable && !hand.told.drawing) say({ kind: "point", latitude: at.lat, longitude: at.lng });
    });
    map.on("zoomend", hand.setWidths);
    map.on("mousemove", function (event) { figure.textContent = figureAt(hand.told.figures, event.latlng); });
    map.on("mouseout", function () { figure.textContent = ""; });
    return hand;
  }

  function pin(map, position, className) {  /* an empty box in a corner of the map */
    var box = L.DomUtil.create("div", className), control = L.control({ position: position });
    control.onAdd = function () { L.DomEvent.disableClickPropagation(box); return box; };
    control.addTo(map);
    return box;
  }

  function nearest(axis, value) {
    var step = axis.length > 1 ? (axis[axis.length - 1] - axis[0]) / (axis.length - 1) : 1;
    var place = Math.round((value - axis[0]) / step);
    return place >= 0 && place < axis.length ? place : -1;
  }

  function figureAt(figures, at) {
    if (!figures) return "";
    var row = nearest(figures.latitudes, at.lat), column = nearest(figures.longitudes, at.lng);
    if (column < 0) column = nearest(figures.longitudes, at.lng + 360);
    if (row < 0 || column < 0) return "";
    var cell = row * figures.longitudes.length + column, bytes = figures.bytes = figures.bytes || atob(figures.packed);
    var value = bytes.charCodeAt(2 * cell) + 256 * bytes.charCodeAt(2 * cell + 1);  /* least byte first */
    if (value === NONE) return "";
    var ways = figures.ways && (figures.facings = figures.facings || atob(figures.ways));
    if (figures.least !== undefined) value += figures.least;
    return value.toLocaleString("en") + " " + figures.unit + (ways ? ", " + figures.way_words[ways.charCodeAt(cell)] : "");
  }

  function onKey(marker, choose) {
    marker.getElement().addEventListener("keydown", function (event) {
      if (event.key !== "Enter" && event.key !== " ") return;
      event.preventDefault();
      choose();
    });
  }

  /* `told` is what the layers of `group` do not say: label, view, legend, notice, figures, what a click means. */
  window.exposureTold = function (map, group, told) {
    var hand = map.exposure = map.exposure || setUp(map), holder = map.getContainer(), view = told.view;
    hand.told = told;
    hand.group = group.addTo(map);
    window.exposureShown = { map: map, group: group, told: told };
    holder.style.background = told.ground;
    if (window.frameElement) window.frameElement.title = "Map";  /* else it is announced by the name of a component */
    holder.setAttribute("role", "application");
    holder.setAttribute("aria-label", told.label);
    holder.classList.toggle("exposure-online", told.online);
    hand.legend.innerHTML = told.legend;
    hand.notice.innerHTML = told.notice;
    if (JSON.stringify(view) !== hand.view) {  /* the map moves only when its view is another */
      hand.view = JSON.stringify(view);
      var room = !told.legend ? 6 : holder.clientWidth < SMALL ? 84 : 64;  /* the legend lies below the land */
      if (view.bounds) map.fitBounds(view.bounds, { animate: false, paddingTopLeft: [6, 6], paddingBottomRight: [6, room] });
      else map.setView([view.latitude, view.longitude], view.zoom, { animate: false });
    }
    if (hand.setDrawing) hand.setDrawing(told.drawing, view);
    hand.setWidths();
    group.eachLayer(function (layer) {
      if (!layer.options.place || !told.clickable) return;
      var choose = hand.choose.bind(null, layer);
      layer.on("click", choose);
      onKey(layer, choose);
    });
  };
})();
