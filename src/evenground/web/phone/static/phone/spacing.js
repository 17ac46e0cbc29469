// A spacing run: where the plants of a line stand, typed or tapped as the tape runs; both lines of a twin row.

import { newId } from "./entries.js";
import { strip } from "./in_the_crop.js";
import { button, el, freshId } from "./parts.js";
import { _, decimalSign, ngettext, number, readNumber } from "./words.js";

const WINDOW_CM = 50;
const GRAIN_CM = 0.5;
const LARGEST = 50_000;

const lineOf = (values) => values.line || "1";
const readingsOf = (values, line = lineOf(values)) => values[`readings_${line}`] || [];

function twins(ctx) {
  return ctx.trial.methods.some((m) => m.row_pattern === "twin");
}

// Add a reading: text where it cannot be one, "" where it is in.
function add(values, change, value, sorted) {
  const now = readingsOf(values);
  const name = `readings_${lineOf(values)}`;
  if (value < 0 || value > LARGEST) return _("Allowed: {low} to {high}{unit}.", { low: 0, high: number(LARGEST), unit: ` ${values.unit || "cm"}` });
  if (sorted) change(name, [...now, value].sort((a, b) => a - b));
  else if (values.reads !== "gaps" && now.length && value < now.at(-1)) {
    return _("The tape goes back: {now} after {before}. Undo, or begin a run of its own.", { now: number(value, 1), before: number(now.at(-1), 1) });
  } else change(name, [...now, value]);
  change(`added_${lineOf(values)}`, [...(values[`added_${lineOf(values)}`] || []), value]);
  return "";
}

// Take back what was added last, which on a tapped tape need not be the last plant.
function undo(values, change) {
  const [list, added] = [[...readingsOf(values)], [...(values[`added_${lineOf(values)}`] || [])]];
  const at = list.lastIndexOf(added.pop());
  list.splice(at < 0 ? list.length - 1 : at, 1);
  change(`readings_${lineOf(values)}`, list);
  change(`added_${lineOf(values)}`, added);
}

function listText(values) {
  const list = readingsOf(values);
  if (!list.length) return _("No plant yet.");
  const last = list.slice(-5).map((x) => number(x, 1)).join("  ");
  return ngettext("{n} plant: {last}", "{n} plants, the last: {last}", list.length, { last });
}

function typing(values, change, show) {
  const id = freshId("reading");
  const wrong = el("p", { class: "wrong", id: `${id}-wrong`, hidden: true });
  const input = el("input", { id, type: "text", inputmode: "none", autocomplete: "off", "aria-describedby": `${id}-wrong` });
  const next = () => {
    const read = readNumber(input.value);
    const problem = read.empty ? _("Type the reading first.") : read.problem || add(values, change, read.value, false);
    wrong.textContent = problem;
    wrong.hidden = !problem;
    if (!problem) show();
  };
  input.addEventListener("keydown", (event) => {
    if (event.key === "Enter") { event.preventDefault(); next(); }
  });
  const decimal = decimalSign();
  const press = (sign) => () => { input.value += sign; };
  const keys = [..."123456789"].map((k) => button(k, press(k), "key"));
  const rub = el("button", { type: "button", class: "key", "aria-label": _("rub out"), on: { click: () => { input.value = input.value.slice(0, -1); } } }, "⌫");
  return el("div", {},
    el("label", { for: id }, _("Reading"), el("span", { class: "unit" }, ` ${values.unit || "cm"}`)),
    input, wrong,
    el("div", { class: "keys" }, ...keys, button(decimal, press(decimal), "key"), button("0", press("0"), "key"), rub),
    button(_("Next plant"), next, "wide"));
}

function tapping(values, change, show) {
  const start = Number(values.tape_from || 0);
  const grain = (y, height) => Math.round((start + (Math.max(0, Math.min(height, y)) / height) * WINDOW_CM) / GRAIN_CM) * GRAIN_CM;
  const bubble = el("output", { class: "bubble", hidden: true });
  const marks = Array.from({ length: WINDOW_CM / 10 + 1 }, (_x, i) => {
    const mark = el("span", { class: "mark" }, number(start + i * 10));
    mark.style.top = `${(i * 1000) / WINDOW_CM}%`;
    return mark;
  });
  const here = readingsOf(values).filter((x) => x >= start && x <= start + WINDOW_CM);
  const plants = here.map((x) => {
    const plant = el("span", { class: "plant" });
    plant.style.top = `${((x - start) / WINDOW_CM) * 100}%`;
    return plant;
  });
  const label = _("Tape from {a} to {b} cm: tap where a plant stands. Readings can be typed instead.", { a: number(start), b: number(start + WINDOW_CM) });
  const tape = el("div", { class: "tape", role: "img", "aria-label": label }, ...marks, ...plants, bubble);
  const at = (event) => {
    const box = tape.getBoundingClientRect();
    return grain(event.clientY - box.top, box.height);
  };
  const follow = (event) => {
    const value = at(event);
    bubble.hidden = false;
    bubble.textContent = _("{n} cm", { n: number(value, 1) });
    bubble.style.top = `${((value - start) / WINDOW_CM) * 100}%`;
  };
  tape.addEventListener("pointerdown", (event) => { tape.setPointerCapture(event.pointerId); follow(event); });
  tape.addEventListener("pointermove", (event) => { if (!bubble.hidden) follow(event); });
  tape.addEventListener("pointercancel", () => { bubble.hidden = true; });
  tape.addEventListener("pointerup", (event) => {
    if (bubble.hidden) return;
    add(values, change, at(event), true);
    show();
  });
  const move = (by) => () => { change("tape_from", Math.max(0, start + by)); show(); };
  return el("div", {}, tape,
    el("div", { class: "row" }, button(_("Back {n} cm", { n: WINDOW_CM }), move(-WINDOW_CM)), button(_("On {n} cm", { n: WINDOW_CM }), move(WINDOW_CM), "first")));
}

function choice(values, change, name, label, options, show) {
  const id = freshId(name);
  const parts = options.map(([value, text]) => {
    const input = el("input", { type: "radio", name: id, value });
    input.checked = (values[name] || options[0][0]) === value;
    input.addEventListener("change", () => { change(name, value); show(); });
    return el("label", { class: "choice" }, input, el("span", {}, text));
  });
  return el("fieldset", { class: "field" }, el("legend", {}, label), el("div", { class: "choices" }, ...parts));
}

function renderRun(values, change, ctx) {
  const box = el("div", { class: "field", "data-name": "readings" });
  const wrong = el("p", { class: "wrong", hidden: true });
  const show = () => {
    const tap = values.way === "tap";
    const back = button(_("Undo the last"), () => { undo(values, change); show(); });
    box.replaceChildren(...[
      twins(ctx) ? choice(values, change, "line", _("Line of a twin row"), [["1", _("line 1")], ["2", _("line 2")]], show) : null,
      choice(values, change, "way", _("Readings are"), [["type", _("typed")], ["tap", _("tapped on a tape")]], show),
      el("p", { class: "tally", role: "status" }, listText(values)),
      tap ? tapping(values, change, show) : typing(values, change, show),
      el("div", { class: "row" }, back),
      wrong].filter(Boolean));
  };
  show();
  return box;
}

function lineEntry(rest, values, line, run) {
  const { offset_cm, ...shared } = rest;
  return {
    ...shared,
    readings: readingsOf(values, line),
    ...(run ? { run, line: Number(line) } : {}),
    ...(run && line === "2" && offset_cm ? { offset_cm } : {}),
  };
}

export const spacingRun = {
  name: "spacing",
  kind: "spacing_runs",
  title: () => _("Spacing run"),
  hint: () => _("where each plant stands along a tape"),
  remember: ["way", "reads", "unit"],
  fields: (ctx) => [
    strip(),
    { name: "row_unit", type: "count", label: _("Row unit, from the left"), min: 1, max: 48 },
    { name: "readings", type: "custom", render: renderRun },
    {
      name: "reads", type: "choice", label: _("A reading is"), more: true,
      options: [["positions", _("the place on the tape")], ["gaps", _("the gap to the plant before")]],
    },
    { name: "unit", type: "choice", label: _("Unit"), more: true, options: [["cm", "cm"], ["m", "m"]] },
    ...(twins(ctx) ? [{
      name: "offset_cm", type: "number", label: _("Line 2 begins after line 1 by"), unit: "cm", min: -1000, max: 1000, more: true,
      help: _("0 where both tapes share one start."),
    }] : []),
  ],
  check: (_read, values) => {
    const n = [readingsOf(values, "1").length, readingsOf(values, "2").length];
    if (n[0] < 2 && n[1] < 2) return { readings: _("At least two plants make a run.") };
    if (n.some((x) => x === 1)) return { readings: _("One of the lines has a single plant; a run needs two.") };
    const tape = values.way === "tap" && (values.unit === "m" || values.reads === "gaps");
    return tape ? { unit: _("The tape to tap on gives places in cm.") } : {};
  },
  build: (rest, values) => {
    const lines = ["1", "2"].filter((line) => readingsOf(values, line).length >= 2);
    const run = lines.includes("2") ? newId().slice(0, 8) : "";
    return lines.map((line) => lineEntry(rest, values, line, run));
  },
};
