// All screens on which something is written down, by name.

import { depth, note, standCount } from "./in_the_crop.js";
import { damage } from "./damage.js";
import { load, sample, stubble, weighing } from "./harvest.js";
import { sown } from "./sown.js";
import { spacingRun } from "./spacing.js";

export const SCREENS = Object.fromEntries(
  [standCount, spacingRun, depth, damage, note, sown, load, weighing, sample, stubble].map((s) => [s.name, s]),
);

export const screenOf = (name) => SCREENS[name] || null;

// The screen an entry came from.
export function screenFor(entry) {
  if (entry.kind === "events") return ["sown", "not_sown"].includes(entry.fields.event) ? sown : note;
  return Object.values(SCREENS).find((s) => s.kind === entry.kind) || null;
}

// What a form must be filled with to make an entry like this one again, for a correction.
export function valuesOf(entry) {
  const { strips, time, note: text, replaces: _gone, lon: _lon, lat: _lat, who: _who, ...rest } = entry.fields;
  const values = Object.fromEntries(Object.entries(rest).map(([k, v]) => [k, typeof v === "number" ? String(v) : v]));
  if (strips?.length) Object.assign(values, { strip: String(strips[0]), strip_by: "hand" });
  if (text) values.note = text;
  values.time = String(time).slice(0, 19);
  if (entry.kind === "events") values.what = rest.event === "not_sown" ? "not_sown" : rest.method;
  if (entry.kind === "loads") {
    if (strips.length > 1) values.second = String(strips[1]);
    if (rest.split_fraction) values.split_percent = String(Math.round(rest.split_fraction * 1e4) / 100);
    if (rest.split_sd_fraction) values.split_off_percent = String(Math.round(rest.split_sd_fraction * 1e4) / 100);
  }
  if (entry.kind === "weighings") values.cumulative = rest.cumulative ? "yes" : "";
  if (entry.kind === "spacing_runs") {
    values.line = String(rest.line || 1);
    values[`readings_${values.line}`] = rest.readings;
    delete values.readings;
  }
  return values;
}
