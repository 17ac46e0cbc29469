// Records where each method was sown, while somebody walks over it; every place is kept on this device at once.
"use strict";

(() => {
  const byId = (id) => document.getElementById(id);
  const field = byId("places");
  const KEY = `evenground-sown-${field.dataset.trial}`;
  const METRES_A_DEGREE = 111195;
  const NEXT_AFTER_M = 2;
  const WORST_M = 15; // a place no better than this says nothing about which side of a border it is on
  const DIGITS = 8;
  let places = []; // [lon, lat, method]
  let watching = null;

  try {
    places = JSON.parse(localStorage.getItem(KEY)) || [];
  } catch {
    places = [];
  }

  function apart(a, b) {
    return Math.hypot((a[0] - b[0]) * Math.cos((a[1] * Math.PI) / 180), a[1] - b[1]) * METRES_A_DEGREE;
  }

  function show(extra = "") {
    const counted = {};
    for (const [, , method] of places) counted[method] = (counted[method] || 0) + 1;
    const said = Object.entries(counted).map(([method, n]) => interpolate(gettext("%s: %s places"), [method, n]));
    byId("walk-said").textContent = [extra, ...said].filter(Boolean).join("; ");
    field.value = places.length ? ["lon,lat,method", ...places.map((at) => at.join(","))].join("\n") : "";
    try {
      localStorage.setItem(KEY, JSON.stringify(places));
    } catch {
      byId("walk-said").textContent += ` ${gettext("This device has no room left; the places are kept only while this page is open.")}`;
    }
  }

  function seen(position) {
    const { longitude, latitude, accuracy } = position.coords;
    const words = interpolate(gettext("accurate to about %s m"), [Math.round(accuracy)]);
    if (accuracy > WORST_M) {
      show(`${words} ${gettext("(too little; wait)")}`);
      return;
    }
    const at = [Number(longitude.toFixed(DIGITS)), Number(latitude.toFixed(DIGITS)), byId("walk-method").value];
    const last = places[places.length - 1];
    if (!last || last[2] !== at[2] || apart(last, at) >= NEXT_AFTER_M) places.push(at);
    show(words);
  }

  function stop() {
    if (watching !== null) navigator.geolocation.clearWatch(watching);
    watching = null;
    byId("walk-start").hidden = false;
    byId("walk-pause").hidden = true;
  }

  byId("walk-start").addEventListener("click", () => {
    byId("walk-start").hidden = true;
    byId("walk-pause").hidden = false;
    const wrong = () => show(gettext("This device does not tell where it is. Allow it, or go outside."));
    watching = navigator.geolocation.watchPosition(seen, wrong, { enableHighAccuracy: true, maximumAge: 0 });
  });
  byId("walk-pause").addEventListener("click", stop);
  byId("walk-again").addEventListener("click", () => {
    if (window.confirm(gettext("Forget the places so far?"))) {
      places = [];
      show();
    }
  });
  byId("walk-form").addEventListener("submit", stop);
  if (places.length) show();
})();
