/* A whole region on one page that needs no server: choices above the map, figures of the named places below. */
(function () {
  "use strict";
  var data = JSON.parse(document.getElementById("data").textContent), map = window.exposureShown;
  var quantity = document.getElementById("quantity"), facing = document.getElementById("facing"), raster;
  map.group.eachLayer(function (layer) { if (layer.setUrl) raster = layer; });

  function option(select, value, words, chosen) {
    select.add(new Option(words, value, chosen, chosen));
  }

  function show() {
    var layer = data.layers[quantity.value + "/" + facing.value];
    if (!layer) return;
    raster.setUrl(layer.uri);
    window.exposureTold(map.map, map.group, Object.assign({}, map.told, { legend: layer.legend, figures: layer.figures }));
    document.getElementById("said").textContent = layer.sentence;
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
