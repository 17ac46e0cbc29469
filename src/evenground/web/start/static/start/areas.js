// Draws the area of each method on the map: for a field that was sown without a draw.
"use strict";

(() => {
  const byId = (id) => document.getElementById(id);
  const box = byId("area-map");
  const part = byId("areas-part");
  const DIGITS = 9; // 0.1 mm
  const COLOURS = ["#0072b2", "#b35900", "#009e73", "#8a5a83"];
  const DASHES = ["", "8 5", "2 5", "12 4 2 4"];
  let map = null;
  let pen = null;
  let areas = []; // {feature, layer}

  function letters() {
    return [...byId("area-method").options].map((option) => option.value);
  }

  function styleOf(letter) {
    const i = Math.max(0, letters().indexOf(letter));
    return { color: COLOURS[i % COLOURS.length], dashArray: DASHES[i % DASHES.length], weight: 3, fillOpacity: 0.2 };
  }

  function begin() {
    if (map) {
      map.invalidateSize();
      return;
    }
    map = L.map(box, { keyboard: true }).setView([50, 10], 5);
    map.attributionControl.setPrefix(false);
    L.control.scale({ imperial: false }).addTo(map);
    window.evengroundGrid.add(map, (step) => {
      byId("area-grid").textContent = interpolate(gettext("One square of the grid is %s m wide."), [step]);
    });
    map.on(L.Draw.Event.CREATED, (event) => put({ type: "Feature", properties: pen.said, geometry: event.layer.toGeoJSON(DIGITS).geometry }));
    map.on(L.Draw.Event.DRAWSTOP, () => drawing(false));
    fetch(box.dataset.features, { credentials: "same-origin" })
      .then((answer) => answer.json())
      .then((field) => {
        const ground = L.geoJSON(field, { style: { color: "#1d1d1b", weight: 2, fillOpacity: 0 }, interactive: false }).addTo(map);
        if (field.features.length) map.fitBounds(ground.getBounds(), { maxZoom: 18 });
        else byId("area-said").textContent = gettext("The outline of the field is not known; draw or upload it first, and it shows here.");
      });
    try {
      JSON.parse(byId("areas").value || "null")?.features.forEach(put);
    } catch {
      byId("areas").value = "";
    }
    list();
  }

  function put(feature) {
    const letter = feature.properties.method;
    const layer = L.geoJSON(feature, { style: styleOf(letter) }).bindTooltip(letter, { permanent: true }).addTo(map);
    areas.push({ feature, layer });
    list();
  }

  function list() {
    byId("area-list").replaceChildren(
      ...areas.map((area) => {
        const line = document.createElement("li");
        const words = document.createElement("span");
        const { method, sown } = area.feature.properties;
        words.textContent = sown ? interpolate(gettext("Area of %s, sown on %s"), [method, sown]) : interpolate(gettext("Area of %s"), [method]);
        const away = document.createElement("button");
        away.type = "button";
        away.className = "small";
        away.textContent = gettext("Remove");
        away.setAttribute("aria-label", `${gettext("Remove")}: ${words.textContent}`);
        away.addEventListener("click", () => {
          area.layer.remove();
          areas = areas.filter((one) => one !== area);
          list();
        });
        line.append(words, away);
        return line;
      }),
    );
    byId("areas").value = areas.length ? JSON.stringify({ type: "FeatureCollection", features: areas.map((area) => area.feature) }) : "";
  }

  function drawing(on) {
    byId("area-draw").hidden = on;
    byId("area-undo").hidden = byId("area-finish").hidden = !on;
    byId("area-said").textContent = on ? gettext("Tap corner after corner. Finish with the first corner or with “Finish”.") : "";
  }

  byId("area-draw").addEventListener("click", () => {
    begin();
    const said = { method: byId("area-method").value };
    if (byId("area-sown").value) said.sown = byId("area-sown").value;
    pen = new L.Draw.Polygon(map, { shapeOptions: styleOf(said.method), allowIntersection: false });
    pen.said = said;
    pen.enable();
    drawing(true);
  });
  byId("area-undo").addEventListener("click", () => pen && pen.deleteLastVertex());
  byId("area-finish").addEventListener("click", () => pen && pen.completeShape());
  part.addEventListener("toggle", () => part.open && begin());
  if (part.open) begin();
})();
