// Where one stands, from the phone's own receiver; nothing of it leaves the phone but what an entry holds.

import { judge } from "./ground.js";
import { _, number } from "./words.js";

const STALE_MS = 30_000;
const USEFUL_M = 100;

const listeners = new Set();
let watch = null;
let latest = null;
let trouble = "";

// Called with every new position, for as long as something listens; the receiver rests otherwise.
export function follow(call) {
  listeners.add(call);
  start();
  call();
  return () => {
    listeners.delete(call);
    if (!listeners.size) stop();
  };
}

function start() {
  if (watch !== null || !navigator.geolocation) {
    if (!navigator.geolocation) trouble = "none";
    return;
  }
  const wanted = { enableHighAccuracy: true, maximumAge: 2_000, timeout: 60_000 };
  watch = navigator.geolocation.watchPosition(
    ({ coords }) => {
      latest = { lon: coords.longitude, lat: coords.latitude, accuracy_m: coords.accuracy, at: Date.now() };
      trouble = "";
      tell();
    },
    (error) => {
      trouble = error.code === 1 ? "refused" : "none";
      tell();
    },
    wanted,
  );
}

function stop() {
  if (watch !== null) navigator.geolocation.clearWatch(watch);
  watch = null;
}

function tell() {
  listeners.forEach((call) => call());
}

// The position as it is now, or null where it is too old or too rough to be of use.
export function position() {
  if (!latest || Date.now() - latest.at > STALE_MS || latest.accuracy_m > USEFUL_M) return null;
  return latest;
}

// Longitude and latitude for an entry, to a tenth of a metre.
export function placeFields() {
  const now = position();
  return now ? { lon: Math.round(now.lon * 1e6) / 1e6, lat: Math.round(now.lat * 1e6) / 1e6 } : {};
}

export function stripHere(strips) {
  const now = position();
  return now ? judge(now, strips) : null;
}

// What to say about it: {text, near, sure}.
export function said(strips) {
  const now = position();
  if (!now) {
    const text = {
      refused: _("This phone may not tell the place. Pick the strip by hand, or allow it in the phone's settings."),
      none: _("No position from this phone. Pick the strip by hand."),
      "": latest && latest.accuracy_m > USEFUL_M ? _("The position is too rough. Pick the strip by hand.") : _("Looking for the position …"),
    }[trouble];
    return { text, near: [], sure: false };
  }
  const found = judge(now, strips);
  const about = _("position to about {m} m", { m: number(now.accuracy_m) });
  return { ...found, text: `${sentence(found)} (${about})` };
}

function sentence(found) {
  const { strip, sure, near, edge_m, off_m } = found;
  if (sure) return _("You stand in strip {strip}, {m} m from its edge", { strip, m: number(edge_m, 1) });
  if (near.length === 2) {
    const [a, b] = [...near].sort((x, y) => x - y);
    return _("Between strip {a} and {b}", { a, b });
  }
  if (near.length > 2) return _("Somewhere in strips {a} to {b}", { a: Math.min(...near), b: Math.max(...near) });
  if (strip !== null) return _("At the edge of strip {strip}", { strip });
  return _("{m} m outside strip {strip}", { strip: near[0], m: number(off_m) });
}
