// Draws the field on the map: outline, obstacles, edges, traces of earlier years, soil zones.
"use strict";

(() => {
  const byId = (id) => document.getElementById(id);
  const box = byId("map");
  const DIGITS = 9; // 0.1 mm
  const LINES = ["kept_edge", "history"];
  const COLOURS = { boundary: "#1d1d1b", obstacle: "#1d1d1b", kept_edge: "#0072b2", history: "#b35900", soil_zone: "#55554f" };
  const DASHES = { boundary: "", obstacle: "4 3", kept_edge: "1 7", history: "8 5", soil_zone: "2 4" };
  const OLD_WIDE = { lat: 50, lon: 10, zoom: 5 };

  const map = L.map(box, { zoomControl: true, attributionControl: true, keyboard: true }).setView([OLD_WIDE.lat, OLD_WIDE.lon], OLD_WIDE.zoom);
  map.attributionControl.setPrefix(false);
  if (box.dataset.tiles) {
    L.tileLayer(box.dataset.tiles, { maxZoom: 22, maxNativeZoom: 19, attribution: escapeText(box.dataset.thanks || "") }).addTo(map);
  }
  L.control.scale({ imperial: false }).addTo(map);
  window.evengroundGrid.add(map, (step) => {
    byId("grid").textContent = interpolate(gettext("One square of the grid is %s m wide."), [step]);
  });

  let entries = []; // {feature, layer}: the feature as it is stored; its geometry is made anew only where it was changed
  let pen = null;
  let changing = null;
  let touched = false;

  function escapeText(text) {
    const span = document.createElement("span");
    span.textContent = text;
    return span.innerHTML;
  }

  function say(text) {
    byId("said").textContent = text;
  }

  function styleOf(role) {
    return { color: COLOURS[role] || "#1d1d1b", weight: role === "kept_edge" ? 6 : 3, dashArray: DASHES[role] || "", fillOpacity: role === "boundary" ? 0.05 : 0.25 };
  }

  function roleOf(feature) {
    return (feature.properties && feature.properties.role) || "boundary";
  }

  function wordsOf(feature) {
    const role = roleOf(feature);
    const option = byId("role").querySelector(`option[value="${CSS.escape(role)}"]`);
    const name = option ? option.textContent.split(":")[0] : role;
    const said = feature.properties || {};
    if (role === "kept_edge") return `${name}: ${said.reason || ""} (${said.width_m} m)`;
    if (role === "history") return `${name}: ${(byId("kind").querySelector(`option[value="${CSS.escape(said.kind)}"]`) || {}).textContent || said.kind}`;
    if (role === "soil_zone") return `${name}: ${said.layer || "soil"} ${said.value}`;
    return name;
  }

  function put(feature) {
    const group = L.geoJSON(feature, { style: styleOf(roleOf(feature)) });
    group.eachLayer((layer) => layer.addTo(map));
    const layer = group.getLayers()[0] || null;
    entries.push({ feature, layer });
  }

  function list() {
    const place = byId("list");
    place.replaceChildren();
    entries.forEach((entry, i) => {
      const line = document.createElement("li");
      const words = document.createElement("span");
      words.textContent = `${i + 1}. ${wordsOf(entry.feature)}`;
      line.append(words);
      const simple = ["Polygon", "LineString"].includes(entry.feature.geometry.type);
      if (simple) line.append(button(gettext("Change its corners"), () => change(entry)));
      line.append(button(gettext("Show"), () => map.fitBounds(entry.layer.getBounds(), { maxZoom: 18 })));
      line.append(button(gettext("Remove"), () => remove(entry)));
      for (const one of line.querySelectorAll("button")) one.setAttribute("aria-label", `${one.textContent}: ${words.textContent}`);
      place.append(line);
    });
    if (!entries.length) {
      const line = document.createElement("li");
      line.textContent = gettext("Nothing yet. Begin with the outline of the field.");
      place.append(line);
    }
    byId("store").disabled = !touched || !entries.some((entry) => roleOf(entry.feature) === "boundary");
  }

  function button(text, does) {
    const one = document.createElement("button");
    one.type = "button";
    one.className = "small";
    one.textContent = text;
    one.addEventListener("click", does);
    return one;
  }

  function remove(entry) {
    stopChanging();
    if (entry.layer) entry.layer.remove();
    entries = entries.filter((one) => one !== entry);
    touched = true;
    list();
    say(gettext("Removed here. It is gone only when you store the field; the version before still has it."));
  }

  function change(entry) {
    const again = changing === entry;
    stopChanging();
    if (again) return;
    changing = entry;
    entry.layer.editing.enable();
    map.fitBounds(entry.layer.getBounds(), { maxZoom: 18 });
    say(gettext("Drag a corner to move it, a small square between two to add one. Press “Change its corners” again when it is right."));
  }

  function stopChanging() {
    if (!changing) return;
    changing.layer.editing.disable();
    changing.feature = { ...changing.feature, geometry: changing.layer.toGeoJSON(DIGITS).geometry };
    changing = null;
    touched = true;
    list();
    say("");
  }

  // Drawing ------------------------------------------------------------------------------------------------------

  function properties() {
    const role = byId("role").value;
    const number = (id) => Number(byId(id).value.trim().replace(",", "."));
    if (role === "kept_edge") return { role, width_m: number("width"), reason: byId("reason").value.trim() };
    if (role === "history") return { role, kind: byId("kind").value };
    if (role === "soil_zone") return { role, layer: byId("layer").value.trim() || "soil", value: number("value") };
    return { role };
  }

  function begin(Kind) {
    stopChanging();
    const said = properties();
    if (Object.values(said).some((value) => typeof value === "number" && !Number.isFinite(value))) {
      say(gettext("A number is missing above."));
      return;
    }
    pen = new Kind(map, { shapeOptions: styleOf(said.role), allowIntersection: false, showLength: true, metric: true, feet: false });
    pen.said = said;
    pen.enable();
    drawing(true);
    say(gettext("Tap corner after corner. Finish with the first corner or with “Finish”."));
  }

  function drawing(on) {
    for (const id of ["undo", "finish", "cancel"]) byId(id).hidden = !on;
    byId("area").hidden = on;
    byId("line").hidden = on || !LINES.includes(byId("role").value);
  }

  map.on(L.Draw.Event.CREATED, (event) => {
    const feature = { type: "Feature", properties: pen.said, geometry: event.layer.toGeoJSON(DIGITS).geometry };
    put(feature);
    touched = true;
    list();
    say(gettext("Drawn. It counts once you store the field."));
  });
  map.on(L.Draw.Event.DRAWSTOP, () => drawing(false));

  function chosen() {
    const role = byId("role").value;
    for (const part of document.querySelectorAll("[data-for]")) part.hidden = part.dataset.for !== role;
    byId("line").hidden = !LINES.includes(role);
  }

  byId("role").addEventListener("change", chosen);
  byId("what").addEventListener("submit", (event) => event.preventDefault());
  byId("area").addEventListener("click", () => begin(L.Draw.Polygon));
  byId("line").addEventListener("click", () => begin(L.Draw.Polyline));
  byId("undo").addEventListener("click", () => pen && pen.deleteLastVertex());
  byId("finish").addEventListener("click", () => pen && pen.completeShape());
  byId("cancel").addEventListener("click", () => {
    if (pen) pen.disable();
    drawing(false);
    say("");
  });
  byId("here").addEventListener("click", () => {
    say(gettext("Looking for the place of this device …"));
    map.locate({ setView: true, maxZoom: 18, enableHighAccuracy: true });
  });
  map.on("locationfound", (event) => {
    L.circle(event.latlng, { radius: event.accuracy, color: "#0072b2", interactive: false }).addTo(map);
    say(interpolate(gettext("You are in the circle, give or take %s m."), [Math.round(event.accuracy)]));
  });
  map.on("locationerror", () => say(gettext("This device does not tell where it is. Allow it, or go outside.")));

  byId("save").addEventListener("submit", () => {
    stopChanging();
    byId("features").value = JSON.stringify({ ...whole, features: entries.map((entry) => entry.feature) });
    touched = false;
  });
  window.addEventListener("beforeunload", (event) => {
    if (touched) event.preventDefault();
  });

  // What is stored, or what was drawn and found wrong ------------------------------------------------------------

  let whole = { type: "FeatureCollection" };

  function show(content) {
    const { features, ...rest } = content;
    whole = { ...whole, ...rest };
    features.forEach(put);
    const all = L.featureGroup(entries.map((entry) => entry.layer).filter(Boolean));
    if (entries.length) map.fitBounds(all.getBounds(), { maxZoom: 18 });
    list();
  }

  chosen();
  const kept = byId("features").value.trim();
  if (kept) {
    touched = true;
    show(JSON.parse(kept));
  } else {
    fetch(box.dataset.features, { credentials: "same-origin" })
      .then((answer) => answer.json())
      .then(show)
      .catch(() => say(gettext("The field could not be loaded. Load the page again before you draw.")));
  }
  window.evengroundMap = map;
})();
