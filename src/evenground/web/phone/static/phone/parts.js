// Small pieces every screen is made of.

import { _, number, readNumber } from "./words.js";
import * as place from "./place.js";

let numbered = 0;

export function freshId(word = "part") {
  numbered += 1;
  return `${word}-${numbered}`;
}

// Make an element; attributes in `on` are listeners, everything else is set as it is called in HTML.
export function el(tag, attributes = {}, ...children) {
  const node = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) {
    if (name === "on") for (const [event, call] of Object.entries(value)) node.addEventListener(event, call);
    else if (value === true) node.setAttribute(name, "");
    else if (value !== false && value !== null && value !== undefined) node.setAttribute(name, value);
  }
  node.append(...there(children));
  return node;
}

// Leave out what is not there; the browser would write "null".
function there(children) {
  return children.flat().filter((c) => c !== null && c !== undefined && c !== false);
}

// Show these parts in a place, instead of what stood there.
export function fill(place, ...children) {
  place.replaceChildren(...there(children));
}

export function button(text, press, kind = "") {
  return el("button", { type: "button", class: kind, on: { click: press } }, text);
}

// Say something to eyes and ears; the box below the screen keeps the latest.
export function say(text, { wrong = false, actions = [], stays = false } = {}) {
  const box = document.getElementById("news");
  box.dataset.stays = stays ? "once" : "";
  box.className = wrong ? "news wrong" : "news";
  box.replaceChildren(
    ...(text ? [el("p", {}, text), actions.length ? el("div", { class: "row" }, ...actions) : null].filter(Boolean) : []),
  );
}

// A new screen begins without the last one's news, but for what is said of the entry just kept.
export function hush() {
  const box = document.getElementById("news");
  if (box.dataset.stays) box.dataset.stays = "";
  else say("");
}

function labelled(field, id, ...inside) {
  const label = [field.label, field.unit ? el("span", { class: "unit" }, ` ${field.unit}`) : null];
  const help = field.help ? el("p", { class: "help", id: `${id}-help` }, field.help) : null;
  return el(
    "div",
    { class: "field", "data-name": field.name },
    el("label", { for: id }, ...label),
    help,
    ...inside,
    el("p", { class: "wrong", id: `${id}-wrong`, hidden: true }),
  );
}

function group(field, id, ...inside) {
  return el(
    "fieldset",
    { class: "field", "data-name": field.name },
    el("legend", {}, field.label),
    field.help ? el("p", { class: "help" }, field.help) : null,
    ...inside,
    el("p", { class: "wrong", id: `${id}-wrong`, hidden: true }),
  );
}

function described(field, id) {
  return field.help ? `${id}-help ${id}-wrong` : `${id}-wrong`;
}

function numberInput(field, values, change, id) {
  const input = el("input", {
    id,
    type: "text",
    inputmode: field.whole ? "numeric" : "decimal",
    autocomplete: "off",
    "aria-describedby": described(field, id),
  });
  input.value = values[field.name] ?? "";
  input.addEventListener("input", () => change(field.name, input.value));
  return input;
}

// A number typed, with what it was understood as beside large ones.
export function numberField(field, values, change) {
  const id = freshId(field.name);
  const back = el("p", { class: "help", "aria-live": "polite" });
  const input = numberInput(field, values, (name, value) => { change(name, value); show(); }, id);
  const show = () => {
    const read = readNumber(String(input.value));
    back.textContent = read.value >= 1000 ? _("read as {n} {unit}", { n: number(read.value, 2), unit: field.unit || "" }) : "";
  };
  show();
  const quick = (field.quick || []).map(([text, value]) =>
    button(text, () => { input.value = String(value); change(field.name, input.value); show(); }, "chip"));
  return labelled(field, id, input, quick.length ? el("div", { class: "row" }, ...quick) : null, back);
}

// A number counted up and down with the thumb.
export function countField(field, values, change) {
  const id = freshId(field.name);
  const input = numberInput({ ...field, whole: true }, values, change, id);
  const step = (by) => () => {
    const now = readNumber(String(input.value)).value ?? 0;
    const next = Math.max(field.min ?? 0, Math.min(field.max ?? Infinity, now + by));
    input.value = String(next);
    change(field.name, input.value);
    field.after?.(by, values, change);
  };
  const less = el("button", { type: "button", class: "step", "aria-label": _("one less: {what}", { what: field.label }), on: { click: step(-1) } }, "−");
  const more = el("button", { type: "button", class: field.big ? "step big" : "step", "aria-label": _("one more: {what}", { what: field.label }), on: { click: step(1) } }, "+");
  return labelled(field, id, el("div", { class: field.big ? "stepper big" : "stepper" }, less, input, more));
}

export function choiceField(field, values, change) {
  const id = freshId(field.name);
  const options = field.options.map(([value, text]) => {
    const input = el("input", { type: "radio", name: id, value, "aria-describedby": `${id}-wrong` });
    input.checked = (values[field.name] ?? "") === value;
    input.addEventListener("change", () => change(field.name, value));
    return el("label", { class: "choice" }, input, el("span", {}, text));
  });
  return group(field, id, el("div", { class: "choices" }, ...options));
}

export function textField(field, values, change) {
  const id = freshId(field.name);
  const tag = field.type === "long" ? "textarea" : "input";
  const list = field.known?.length ? freshId("known") : null;
  const input = el(tag, {
    id,
    list,
    maxlength: field.longest,
    autocomplete: "off",
    type: tag === "input" ? field.input || "text" : null,
    rows: tag === "textarea" ? 3 : null,
    step: field.input === "datetime-local" ? 1 : null,
    "aria-describedby": described(field, id),
  });
  input.value = values[field.name] ?? "";
  input.addEventListener("input", () => change(field.name, input.value));
  const quick = (field.known || []).slice(0, 6).map((text) =>
    button(text, () => { input.value = text; change(field.name, text); }, "chip"));
  return labelled(field, id, input, quick.length ? el("div", { class: "row" }, ...quick) : null);
}

// Which strip: what the receiver says, and always a way to pick by hand. What was picked stays.
export function stripField(field, values, change, ctx) {
  const id = freshId(field.name);
  const numbers = ctx.trial.strips.map((s) => s.strip);
  const said = el("p", { class: "place", "aria-live": "polite" });
  const chips = el("div", { class: "row" });
  const select = el("select", { id, "aria-describedby": `${id}-wrong` }, el("option", { value: "" }, _("pick")),
    ...numbers.map((n) => el("option", { value: String(n) }, String(n))));
  const pick = (value, by) => {
    select.value = String(value);
    change(field.name, String(value));
    change(`${field.name}_by`, by);
  };
  select.value = String(values[field.name] ?? "");
  select.addEventListener("change", () => pick(select.value, "hand"));
  const step = (by) => () => {
    const at = numbers.indexOf(Number(select.value));
    pick(numbers[at < 0 ? 0 : Math.max(0, Math.min(numbers.length - 1, at + by))], "hand");
  };
  const ring = el("div", { class: "stepper" },
    el("button", { type: "button", class: "step", "aria-label": _("the strip before"), on: { click: step(-1) } }, "−"),
    select,
    el("button", { type: "button", class: "step", "aria-label": _("the next strip"), on: { click: step(1) } }, "+"));
  const show = () => {
    const told = place.said(ctx.trial.strips);
    if (said.textContent !== told.text) said.textContent = told.text;
    const there = String(told.near[0] ?? "");
    if (told.sure && values[`${field.name}_by`] !== "hand" && select.value !== there) pick(there, "place");
    const offer = told.near.length > 1 && told.near.length < 5 ? [...told.near].sort((a, b) => a - b) : told.near;
    const wanted = offer.filter((n) => String(n) !== select.value).slice(0, 4);
    if (chips.dataset.offer !== wanted.join()) {
      chips.dataset.offer = wanted.join();
      chips.replaceChildren(...wanted.map((n) => button(_("Strip {strip}", { strip: n }), () => { pick(n, "hand"); show(); }, "chip")));
    }
  };
  ctx.leave.push(place.follow(show));
  return labelled(field, id, said, ring, chips);
}

export const FIELDS = {
  number: numberField,
  count: countField,
  choice: choiceField,
  text: textField,
  long: textField,
  strip: stripField,
};
