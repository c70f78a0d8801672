/* Ties the map to the page around it: the page sends a state, the map sends back what was clicked, at once. */
(function () {
  "use strict";
  function post(type, content) {
    window.parent.postMessage(Object.assign({ isStreamlitMessage: true, type: type }, content), "*");
  }
  var map = null;
  window.addEventListener("message", function (event) {
    if (event.source !== window.parent || !event.data || event.data.type !== "streamlit:render") return;
    var given = event.data.args || {};
    var height = given.height || 480;
    post("streamlit:setFrameHeight", { height: height });
    document.getElementById("map").style.height = height + "px";
    if (!map) {
      map = window.exposureMap(document.getElementById("map"), function (message) {
        post("streamlit:setComponentValue", { value: message, dataType: "json" });
      });
      window.exposureShownMap = map;
    }
    map.update(given.state || {});
  });
  post("streamlit:componentReady", { apiVersion: 1 });
})();
