(function () {
  "use strict";
  var root = document.documentElement;
  var key = "ticks " + root.getAttribute("data-inputs");
  var boxes = Array.prototype.slice.call(document.querySelectorAll(".do input"));
  var kept = null;
  try {
    kept = JSON.parse(window.localStorage.getItem(key) || "{}");
    window.localStorage.setItem(key, JSON.stringify(kept));
  } catch (fault) {
    kept = null;
  }
  document.getElementById("keeps").hidden = kept === null;
  document.getElementById("loses").hidden = kept !== null;
  function count() {
    document.querySelectorAll("[data-count]").forEach(function (line) {
      var mine = document.querySelectorAll("#" + line.getAttribute("data-count") + " .do input");
      var done = Array.prototype.filter.call(mine, function (box) { return box.checked; }).length;
      line.textContent = done + " of " + mine.length + " done on this elevation";
    });
  }
  function keep() {
    if (kept === null) { return; }
    kept = {};
    boxes.forEach(function (box) { if (box.checked) { kept[box.id] = 1; } });
    try { window.localStorage.setItem(key, JSON.stringify(kept)); } catch (fault) { kept = null; }
  }
  boxes.forEach(function (box) {
    if (kept !== null) { box.checked = Object.prototype.hasOwnProperty.call(kept, box.id); }
    box.addEventListener("change", function () { keep(); count(); });
  });
  var clear = document.getElementById("clear");
  clear.hidden = false;
  clear.addEventListener("click", function () {
    if (!window.confirm("Clear every tick in this file?")) { return; }
    boxes.forEach(function (box) { box.checked = false; });
    keep();
    count();
  });
  var folded = [];
  window.addEventListener("beforeprint", function () {
    folded = Array.prototype.filter.call(document.querySelectorAll("details"), function (one) { return !one.open; });
    folded.forEach(function (one) { one.open = true; });
  });
  window.addEventListener("afterprint", function () {
    folded.forEach(function (one) { one.open = false; });
  });
  count();
}());
