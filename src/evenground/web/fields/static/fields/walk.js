// Records a walk round the field; every place is kept on this device at once.
"use strict";

(() => {
  const byId = (id) => document.getElementById(id);
  const field = byId("places");
  const KEY = `evenground-walk-${field.dataset.trial}`;
  const METRES_A_DEGREE = 111195;
  const NEXT_AFTER_M = 2; // standing still adds no places
  const DIGITS = 8;
  let places = read(field.value) || read(localStorage.getItem(KEY)) || [];
  let watching = null;
  let awake = null;
  let lost = false;

  function read(text) {
    try {
      const found = JSON.parse(text);
      return Array.isArray(found) ? found : null;
    } catch {
      return null;
    }
  }

  function apart(a, b) {
    const across = (a[0] - b[0]) * Math.cos((a[1] * Math.PI) / 180);
    return Math.hypot(across, a[1] - b[1]) * METRES_A_DEGREE;
  }

  function say(text) {
    byId("said").textContent = text;
  }

  function walking() {
    lost = false;
    say(gettext("Walking. Keep to the edge of the crop."));
  }

  function show() {
    const length = places.slice(1).reduce((sum, at, i) => sum + apart(places[i], at), 0);
    byId("count").textContent = places.length;
    byId("length").textContent = `${Math.round(length)} m`;
    byId("gap").textContent = places.length > 2 ? `${Math.round(apart(places[0], places[places.length - 1]))} m` : "–";
    byId("back").disabled = byId("again").disabled = !places.length;
    byId("show").disabled = places.length < 4;
    track();
    try {
      localStorage.setItem(KEY, JSON.stringify(places));
    } catch {
      say(gettext("This device has no room left; the places are kept only while this page is open."));
    }
  }

  function track() {
    const path = document.querySelector("#track path");
    if (places.length < 2) {
      path.setAttribute("d", "");
      return;
    }
    const narrow = Math.cos((places[0][1] * Math.PI) / 180);
    const at = places.map(([lon, lat]) => [lon * narrow, lat]);
    const xs = at.map((p) => p[0]);
    const ys = at.map((p) => p[1]);
    const size = Math.max(Math.max(...xs) - Math.min(...xs), Math.max(...ys) - Math.min(...ys)) || 1e-9;
    const put = ([x, y]) => `${(10 + ((x - Math.min(...xs)) / size) * 280).toFixed(1)} ${(10 + ((Math.max(...ys) - y) / size) * 280).toFixed(1)}`;
    path.setAttribute("d", `M ${at.map(put).join(" L ")}`);
  }

  function seen(position) {
    if (watching !== null && lost) walking(); // what was said about a lost receiver is over
    const { longitude, latitude, accuracy } = position.coords;
    byId("accuracy").textContent = interpolate(gettext("about %s m"), [Math.round(accuracy)]);
    const at = [Number(longitude.toFixed(DIGITS)), Number(latitude.toFixed(DIGITS)), Math.round(accuracy * 10) / 10];
    if (!places.length || apart(places[places.length - 1], at) >= NEXT_AFTER_M) {
      places.push(at);
      show();
    }
  }

  // A screen that goes dark stops the receiver; not every browser can be asked to keep it on.
  function keepAwake() {
    if (watching === null || document.visibilityState !== "visible") return;
    navigator.wakeLock?.request("screen").then((got) => { awake = got; }).catch(() => {});
  }

  function running(on) {
    byId("start").hidden = on;
    byId("pause").hidden = !on;
  }

  byId("start").addEventListener("click", () => {
    if (!("geolocation" in navigator)) {
      say(gettext("This device does not tell where it is."));
      return;
    }
    running(true);
    walking();
    const wrong = () => {
      lost = true;
      say(gettext("This device does not tell where it is. Allow it, or go outside."));
    };
    watching = navigator.geolocation.watchPosition(seen, wrong, { enableHighAccuracy: true, maximumAge: 0 });
    keepAwake();
  });
  function pause() {
    if (watching !== null) navigator.geolocation.clearWatch(watching);
    watching = null;
    awake?.release().catch(() => {});
    awake = null;
    running(false);
    say("");
  }
  document.addEventListener("visibilitychange", keepAwake);
  byId("pause").addEventListener("click", pause);
  byId("back").addEventListener("click", () => {
    places.pop();
    show();
  });
  byId("again").addEventListener("click", () => {
    if (window.confirm(gettext("Forget the way so far?"))) {
      places = [];
      show();
    }
  });
  document.querySelector("form[action$='walked/']").addEventListener("submit", () => {
    pause();
    field.value = JSON.stringify(places);
  });
  show();
})();
