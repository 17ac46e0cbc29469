// A plain metric grid under the map, drawn by the page itself: nothing is fetched for it.
"use strict";

window.evengroundGrid = (() => {
  const METRES_A_DEGREE = 111195;
  const STEPS = [1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000, 10000, 50000, 100000, 500000];
  const WIDEST_PX = 160;

  // The largest round step that keeps lines no farther apart than WIDEST_PX.
  function stepFor(metresAPixel) {
    return STEPS.filter((step) => step / metresAPixel <= WIDEST_PX).pop() || STEPS[0];
  }

  function add(map, say) {
    const lines = L.layerGroup([], { interactive: false }).addTo(map);
    const style = { color: "#b9b6a9", weight: 1, interactive: false };
    function redraw() {
      lines.clearLayers();
      const bounds = map.getBounds();
      const middle = bounds.getCenter();
      const wide = METRES_A_DEGREE * Math.cos((middle.lat * Math.PI) / 180);
      const pixels = map.getSize().x;
      if (!pixels || !(wide > 0)) return;
      const step = stepFor(((bounds.getEast() - bounds.getWest()) * wide) / pixels);
      const across = step / wide;
      const up = step / METRES_A_DEGREE;
      for (let x = Math.ceil(bounds.getWest() / across) * across; x < bounds.getEast(); x += across) {
        L.polyline([[bounds.getSouth(), x], [bounds.getNorth(), x]], style).addTo(lines);
      }
      for (let y = Math.ceil(bounds.getSouth() / up) * up; y < bounds.getNorth(); y += up) {
        L.polyline([[y, bounds.getWest()], [y, bounds.getEast()]], style).addTo(lines);
      }
      say(step);
    }
    map.on("moveend resize", redraw);
    redraw();
  }

  return { add, stepFor };
})();
