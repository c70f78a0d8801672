/* A whole town on one page that needs no server: walls on a canvas by class, a building's figures by a click. */
(function () {
  "use strict";
  var data = JSON.parse(document.getElementById("data").textContent);
  var walls = data.walls, houses = data.houses, count = walls["class"].length;
  var INK = "#1B2228", PAPER = "#FFFFFF", GROUND = "#DDE1DC";
  var REACH = 14;  // pixels that a click may miss a wall by
  var map = L.map("map", { zoomSnap: 0.25, minZoom: 3, maxZoom: 22, attributionControl: false });
  L.control.scale({ imperial: false, position: "bottomright" }).addTo(map);

  /* Corners as Web Mercator of zoom 0, worked out once. */
  function world(x, y) {
    return map.options.crs.latLngToPoint(L.latLng(data.middle[1] + y * data.grain, data.middle[0] + x * data.grain), 0);
  }
  var ends = new Float64Array(count * 4), of = new Int32Array(count), first = new Int32Array(houses.name.length + 1);
  for (var w = 0; w < count * 2; w++) {
    var p = world(walls.at[2 * w], walls.at[2 * w + 1]);
    ends[2 * w] = p.x; ends[2 * w + 1] = p.y;
  }
  houses.walls.forEach(function (number, h) {
    first[h + 1] = first[h] + number;
    of.fill(h, first[h], first[h + 1]);
  });
  function corners(ring) {
    var made = new Float64Array(ring.length);
    for (var k = 0; k < ring.length; k += 2) {
      var q = world(ring[k], ring[k + 1]);
      made[k] = q.x; made[k + 1] = q.y;
    }
    return made;
  }
  var rings = houses.rings.map(corners);
  var roofs = rings.map(function (ring) {  // the box round each building
    var xs = ring.filter(function (one, k) { return k % 2 === 0; }), ys = ring.filter(function (one, k) { return k % 2; });
    return [Math.min.apply(null, xs), Math.min.apply(null, ys), Math.max.apply(null, xs), Math.max.apply(null, ys)];
  });
  var areas = data.areas.map(function (one) { return { name: one.name, words: one.words, rings: one.rings.map(corners) }; });

  var chosen = -1, least = 0, canvas = L.DomUtil.create("canvas", "", map.getPanes().overlayPane), asked = 0;
  canvas.setAttribute("aria-hidden", "true");

  function draw() {
    asked = 0;
    var size = map.getSize(), ratio = window.devicePixelRatio || 1, corner = map.containerPointToLayerPoint([0, 0]);
    L.DomUtil.setPosition(canvas, corner);
    if (canvas.width !== Math.round(size.x * ratio) || canvas.height !== Math.round(size.y * ratio)) {
      canvas.width = Math.round(size.x * ratio); canvas.height = Math.round(size.y * ratio);
      canvas.style.width = size.x + "px"; canvas.style.height = size.y + "px";
    }
    var pen = canvas.getContext("2d"), scale = Math.pow(2, map.getZoom());
    var origin = map.project(map.containerPointToLatLng([0, 0]));
    pen.setTransform(ratio, 0, 0, ratio, 0, 0);
    pen.clearRect(0, 0, size.x, size.y);
    var near = map.getZoom() >= 15;
    if (near) {
      pen.fillStyle = GROUND;
      rings.forEach(function (ring, h) {
        var x = ring[0] * scale - origin.x, y = ring[1] * scale - origin.y;
        if (x < -400 || y < -400 || x > size.x + 400 || y > size.y + 400) return;
        outline(pen, ring, scale, origin);
        pen.fill();
        if (h === chosen) { pen.strokeStyle = INK; pen.lineWidth = 3; pen.stroke(); }
      });
    }
    var wide = Math.max(1.4, Math.min(7, Math.pow(2, map.getZoom() - 16.5)));
    if (near) lines(pen, scale, origin, size, -1, wide + 1.8, INK);
    data.classes.forEach(function (look, number) { if (number >= least) lines(pen, scale, origin, size, number, wide, look.colour); });
    areas.forEach(function (area) { boundary(pen, area, scale, origin); });
    if (chosen >= 0 && !near) {
      outline(pen, rings[chosen], scale, origin);
      pen.strokeStyle = INK; pen.lineWidth = 4; pen.stroke();
    }
  }

  /* Where an area's words cover fewest roofs, as shares of the box round it; of equal places the one nearest its middle. */
  function clearest(box, wide, high, scale, origin) {
    var found = null, fewest = Infinity;
    [0.5, 0.15, 0.85].forEach(function (down) {
      [0.5, 0.1, 0.9].forEach(function (along) {
        var x = box.left + 4 + along * (box.right - box.left - wide - 8), y = box.top + 4 + down * (box.foot - box.top - high - 8);
        var met = 0;
        roofs.forEach(function (roof) {
          if (roof[2] * scale - origin.x > x && roof[0] * scale - origin.x < x + wide &&
            roof[3] * scale - origin.y > y && roof[1] * scale - origin.y < y + high) met++;
        });
        if (met < fewest) { fewest = met; found = { along: along, down: down }; }
      });
    });
    return found;
  }

  /* An area's outline in dashes, its name and share in it where there is room. */
  function boundary(pen, area, scale, origin) {
    pen.setLineDash([7, 5]);
    pen.strokeStyle = INK; pen.lineWidth = 1.25;
    var left = Infinity, right = -Infinity, top = Infinity, foot = -Infinity;
    area.rings.forEach(function (ring) {
      outline(pen, ring, scale, origin);
      pen.stroke();
      for (var k = 0; k < ring.length; k += 2) {
        left = Math.min(left, ring[k] * scale - origin.x); right = Math.max(right, ring[k] * scale - origin.x);
        top = Math.min(top, ring[k + 1] * scale - origin.y); foot = Math.max(foot, ring[k + 1] * scale - origin.y);
      }
    });
    pen.setLineDash([]);
    pen.font = "13px Arial, 'Liberation Sans', sans-serif"; pen.textAlign = "center"; pen.fillStyle = INK;
    if (right < 0 || left > map.getSize().x || foot < 0 || top > map.getSize().y) return;
    var told = [area.name, area.words].filter(function (words) { return pen.measureText(words).width < right - left - 6; });
    if (!told.length || foot - top < 40) return;
    var wide = Math.max.apply(null, told.map(function (words) { return pen.measureText(words).width; })), high = 16 * told.length;
    if (area.zoom !== map.getZoom()) {
      area.zoom = map.getZoom();
      area.clear = clearest({ left: left, right: right, top: top, foot: foot }, wide, high, scale, origin);
    }
    var x = left + 4 + area.clear.along * (right - left - wide - 8), y = top + 4 + area.clear.down * (foot - top - high - 8);
    pen.globalAlpha = 0.85; pen.fillStyle = PAPER;
    pen.fillRect(x - 3, y - 2, wide + 6, high + 3);
    pen.globalAlpha = 1; pen.fillStyle = INK;
    told.forEach(function (words, line) { pen.fillText(words, x + wide / 2, y + 12 + 16 * line); });
  }

  function outline(pen, ring, scale, origin) {
    pen.beginPath();
    for (var k = 0; k < ring.length; k += 2) pen.lineTo(ring[k] * scale - origin.x, ring[k + 1] * scale - origin.y);
    pen.closePath();
  }

  /* All walls of a class in one path; -1 is every class shown. */
  function lines(pen, scale, origin, size, number, wide, colour) {
    pen.beginPath();
    for (var i = 0; i < count; i++) {
      var own = walls["class"][i];
      if (number < 0 ? own < least : own !== number) continue;
      var x = ends[4 * i] * scale - origin.x, y = ends[4 * i + 1] * scale - origin.y;
      if (x < -300 || y < -300 || x > size.x + 300 || y > size.y + 300) continue;
      pen.moveTo(x, y);
      pen.lineTo(ends[4 * i + 2] * scale - origin.x, ends[4 * i + 3] * scale - origin.y);
    }
    pen.lineWidth = wide; pen.strokeStyle = colour; pen.lineCap = "butt";
    pen.stroke();
  }

  function soon() { if (!asked) asked = window.requestAnimationFrame(draw); }

  /* The wall nearest to a spot on the screen, or -1. */
  function wallAt(point) {
    var scale = Math.pow(2, map.getZoom()), origin = map.project(map.containerPointToLatLng([0, 0]));
    var best = -1, least2 = REACH * REACH;
    for (var i = 0; i < count; i++) {
      var x = ends[4 * i] * scale - origin.x - point.x, y = ends[4 * i + 1] * scale - origin.y - point.y;
      var dx = (ends[4 * i + 2] - ends[4 * i]) * scale, dy = (ends[4 * i + 3] - ends[4 * i + 1]) * scale;
      var along = Math.max(0, Math.min(1, -(x * dx + y * dy) / (dx * dx + dy * dy || 1)));
      var ex = x + along * dx, ey = y + along * dy, off = ex * ex + ey * ey;
      if (off < least2) { least2 = off; best = i; }
    }
    return best;
  }

  function made(name, words, into) {
    var one = document.createElement(name);
    if (words !== undefined) one.textContent = words;
    if (into) into.appendChild(one);
    return one;
  }

  function swatch(number, into) {
    var one = made("span", "", into);
    one.className = "swatch";
    one.style.background = data.classes[number].colour;
  }

  function tell(house, wall) {
    chosen = house;
    var told = document.getElementById("told");
    told.textContent = "";
    document.getElementById("worst").hidden = true;
    document.querySelector("#house h2").textContent = houses.name[house];
    made("p", "Building " + houses.number[house] + ", " + houses.storeys[house] + (houses.storeys[house] === 1 ? " storey" : " storeys") +
      ". Worst wall: " + data.classes[houses.worst[house]].name + ", " + houses.spell[house] + " L/m² in the worst spell.", told);
    var table = made("table", undefined, told), head = made("tr", undefined, made("thead", undefined, table));
    ["Wall", "Worst spell L/m²", "A year", "Class", "Level: wet, wind"].forEach(function (words) { made("th", words, head).scope = "col"; });
    var body = made("tbody", undefined, table), order = [];
    for (var i = first[house]; i < first[house + 1]; i++) order.push(i);
    order.sort(function (a, b) { return walls["class"][b] - walls["class"][a] || parseFloat(walls.spell[b]) - parseFloat(walls.spell[a]); });
    order.forEach(function (i) {
      var row = made("tr", undefined, body);
      if (i === wall) row.style.background = "#E6EDEE";
      made("th", data.wall_names[walls.name[i]] + ", " + walls.facing[i] + "°, " + walls.length[i] + " m, " + walls.height[i] + " m high", row).scope = "row";
      made("td", walls.spell[i], row);
      made("td", walls.annual[i], row);
      var cell = made("td", undefined, row);
      swatch(walls["class"][i], cell);
      var alone = walls.alone[i] === walls["class"][i] ? "" : "; without its neighbours " + data.classes[walls.alone[i]].name;
      cell.appendChild(document.createTextNode(data.class_words[walls.words[i]] + alone));
      made("td", walls.level[i] + ", " + walls.pressure_level[i], row);
    });
    if (houses.doubts[house].length) made("h3", "In doubt", told);
    var list = made("ul", undefined, told);
    houses.doubts[house].forEach(function (one) { made("li", data.doubts[one], list); });
    var back = made("button", "Back to the buildings hit hardest", told);
    back.type = "button";
    back.onclick = worst;
    soon();
  }

  function worst() {
    chosen = -1;
    document.getElementById("told").textContent = "";
    document.querySelector("#house h2").textContent = "Buildings hit hardest, by their worst wall";
    document.getElementById("worst").hidden = false;
    soon();
  }

  function go(house) {
    var box = L.latLngBounds([]), ring = houses.rings[house];
    for (var k = 0; k < ring.length; k += 2) box.extend([data.middle[1] + ring[k + 1] * data.grain, data.middle[0] + ring[k] * data.grain]);
    map.fitBounds(box, { maxZoom: 18, animate: false });
    tell(house, -1);
  }

  var list = document.getElementById("worst");
  data.hardest.forEach(function (house) {
    var one = made("button", houses.name[house] + ": " + houses.facing[house] + ", " + houses.spell[house] + " L/m², " + houses.words[house], made("li", undefined, list));
    one.type = "button";
    one.onclick = function () { go(house); };
  });
  var select = document.getElementById("least");
  data.classes.forEach(function (look, number) {
    select.add(new Option(number === 0 ? "all" : number === data.classes.length - 1 ? look.name : look.name + " and harder", String(number)));
  });
  select.onchange = function () { least = Number(select.value); soon(); };
  var find = document.getElementById("find");
  document.getElementById("choices").onsubmit = function (event) { event.preventDefault(); };
  find.onchange = function () {
    var wanted = find.value.trim().toLowerCase();
    if (!wanted) return;
    var at = houses.name.findIndex(function (name) { return name.toLowerCase() === wanted; });
    if (at < 0) at = houses.name.findIndex(function (name) { return name.toLowerCase().indexOf(wanted) >= 0; });
    if (at < 0) at = houses.number.indexOf(Number(wanted));
    if (at >= 0) go(at);
    find.setCustomValidity(at >= 0 ? "" : "No building of that name");
    find.reportValidity();
  };

  function legend() {
    var box = L.DomUtil.create("div", "exposure-legend");
    made("b", "Class of the wall", box);
    data.classes.forEach(function (look, number) {
      var key = made("div", undefined, box);
      key.className = "exposure-key";
      swatch(number, key);
      made("span", look.name, key);
    });
    return box;
  }
  if (map.getSize().x < 560) map.getContainer().after(legend());  // on a narrow screen it would hide a third of the map
  else {
    var key = L.control({ position: "bottomleft" });
    key.onAdd = legend;
    key.addTo(map);
  }
  map.on("move zoom resize viewreset", soon);
  map.on("click", function (event) {
    var wall = wallAt(event.containerPoint);
    if (wall >= 0) tell(of[wall], wall);
  });
  var all = L.latLngBounds([]);
  for (var k = 0; k < walls.at.length; k += 2) all.extend([data.middle[1] + walls.at[k + 1] * data.grain, data.middle[0] + walls.at[k] * data.grain]);
  map.fitBounds(all.pad(0.05), { animate: false });
  window.exposureTown = { map: map, tell: tell, wallAt: wallAt, drawn: function () { draw(); return canvas; } };
  soon();
})();
