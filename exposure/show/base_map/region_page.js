/* A whole region on one page that needs no server: choices above the map, figures of the named places below. */
(function () {
  "use strict";
  var data = JSON.parse(document.getElementById("data").textContent);
  var map = window.exposureMap(document.getElementById("map"));
  var quantity = document.getElementById("quantity"), facing = document.getElementById("facing");
  var said = document.getElementById("said");
  window.exposureShownMap = map;

  function option(select, value, words, chosen) {
    var one = document.createElement("option");
    one.value = value;
    one.textContent = words;
    one.selected = chosen;
    select.appendChild(one);
  }

  function show() {
    var key = quantity.value + "/" + facing.value, layer = data.layers[key];
    if (!layer) return;
    map.update(Object.assign({}, data.state, { raster: layer.raster, legend: layer.legend, figures: layer.figures || null }));
    said.textContent = layer.sentence;
    document.querySelectorAll("#places tbody tr").forEach(function (row, number) {
      row.lastElementChild.textContent = layer.at_places[number];
    });
  }

  data.quantities.forEach(function (one) { option(quantity, one.key, one.words, one.key === data.shown.quantity); });
  data.facings.forEach(function (one) { option(facing, one.key, one.words, one.key === data.shown.facing); });
  quantity.onchange = facing.onchange = show;
  document.getElementById("choices").hidden = data.quantities.length * data.facings.length < 2;
  show();
})();
