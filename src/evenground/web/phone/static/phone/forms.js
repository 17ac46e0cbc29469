// Forms: fields in, entries out. What is half filled is kept too, so that a dead battery costs nothing.

import * as kept from "./kept.js";
import { ON_THE_FARM, clock, keep, newId } from "./entries.js";
import { FIELDS, button, el, say } from "./parts.js";
import { placeFields } from "./place.js";
import { sendStraight, soon } from "./sending.js";
import { saveAsFile } from "./files_out.js";
import { _, ngettext, readNumber } from "./words.js";

const DRAFT_PAUSE_MS = 150;

// What every form ends with.
function lastFields() {
  return [
    { name: "note", type: "long", label: _("Note"), longest: 600 },
    { name: "time", type: "text", input: "datetime-local", label: _("When, if not now"), more: true },
  ];
}

// Read one field: {value}, {empty: true} or {problem}.
export function readField(field, values) {
  const raw = values[field.name];
  if (raw === undefined || raw === null || String(raw).trim() === "") {
    return field.needed ? { problem: field.missing || _("This is missing.") } : { empty: true };
  }
  if (field.type === "strip") return { value: Number(raw) };
  if (field.type !== "number" && field.type !== "count") return { value: String(raw).trim() };
  const read = readNumber(String(raw));
  if (read.problem || read.empty) return read;
  const whole = field.type === "count" || field.whole;
  if (whole && !Number.isInteger(read.value)) return { problem: _("A whole number is needed.") };
  const low = field.above !== undefined ? read.value <= field.above : read.value < (field.min ?? -Infinity);
  if (low || read.value > (field.max ?? Infinity)) return { problem: limitsText(field) };
  return read;
}

function limitsText(field) {
  const unit = field.unit ? ` ${field.unit}` : "";
  if (field.above !== undefined) return _("Allowed: above {low}, at most {high}{unit}.", { low: field.above, high: field.max, unit });
  return _("Allowed: {low} to {high}{unit}.", { low: field.min, high: field.max, unit });
}

export function fieldsOf(spec, values, ctx) {
  const own = typeof spec.fields === "function" ? spec.fields(ctx, values) : spec.fields;
  return [...own, ...lastFields()];
}

// Read all fields: values by name, and problems by name.
function readAll(fields, values) {
  const [read, problems] = [{}, {}];
  for (const field of fields.filter((f) => f.type !== "custom")) {
    const found = readField(field, values);
    if (found.problem) problems[field.name] = found.problem;
    else if (!found.empty) read[field.name] = found.value;
  }
  return [read, problems];
}

// The entries a filled form makes, or what is wrong with it: {made} or {problems}.
export function madeOf(spec, values, ctx) {
  const [read, problems] = readAll(fieldsOf(spec, values, ctx), values);
  const more = spec.check?.(read, values, ctx) || {};
  const all = { ...more, ...problems };
  if (Object.keys(all).length) return { problems: all };
  const { strip, note, time, ...rest } = read;
  const shared = { ...(strip === undefined ? {} : { strips: [strip] }), ...(note ? { note } : {}), ...(time ? { time: time.slice(0, 19) } : {}) };
  const bare = spec.build ? spec.build(rest, values, ctx) : [rest];
  const made = bare.map((fields) => ({
    kind: spec.kind,
    typed_time: Boolean(time),
    fields: { ...(time ? {} : placeFields()), ...shared, ...fields },
  }));
  return { made };
}

export class Form {
  constructor(root, spec, ctx, draft) {
    Object.assign(this, { root, spec, ctx, stops: [] });
    this.draft = draft || { id: newId(), screen: spec.name, trial: ctx.trial.slug, values: {}, made: clock() };
    this.values = this.draft.values;
    this.timer = null;
    ctx.leave.push(() => { this.keepDraft(); this.stop(); });
  }

  stop() {
    for (const stop of this.stops.splice(0)) stop();
  }

  change = (name, value) => {
    this.values[name] = value;
    this.touched = this.touched || !name.endsWith("_by");
    clearTimeout(this.timer);
    this.timer = setTimeout(() => this.keepDraft(), DRAFT_PAUSE_MS);
    if (this.spec.redraw?.includes(name)) this.drawAgain(name);
  };

  // Draw anew and leave the finger where it was.
  drawAgain(name) {
    if (this.drawing) {
      this.stale = true;
      return;
    }
    const held = document.activeElement?.closest?.("[data-name]")?.dataset.name === name;
    const open = this.root.querySelector("details")?.open;
    this.draw();
    this.root.querySelector("details").open = Boolean(open);
    const input = held && this.root.querySelector(`[data-name="${name}"] :is(:checked, select, input)`);
    if (input) input.focus({ preventScroll: true });
  }

  // A draft is a help, not an entry: where it cannot be kept, keeping the entry will say so.
  keepDraft() {
    clearTimeout(this.timer);
    if (!this.touched || this.done) return;
    kept.put("drafts", { ...this.draft, values: { ...this.values, photo: undefined } }).catch(() => {});
  }

  // A field may set a value while it is drawn, such as the strip one stands in; what depends on it is drawn once more.
  draw() {
    do {
      this.stale = false;
      this.drawing = true;
      this.drawOnce();
      this.drawing = false;
    } while (this.stale);
  }

  drawOnce() {
    this.stop();
    const ctx = { ...this.ctx, leave: this.stops };
    const nodes = fieldsOf(this.spec, this.values, this.ctx).map((field) => [
      field,
      (field.render || FIELDS[field.type])(...(field.render ? [] : [field]), this.values, this.change, ctx),
    ]);
    const first = nodes.filter(([f]) => !f.more).map(([, node]) => node);
    const more = nodes.filter(([f]) => f.more).map(([, node]) => node);
    const form = el("form", { novalidate: true, on: { submit: (event) => { event.preventDefault(); this.save(); } } },
      this.spec.help ? el("p", { class: "help" }, this.spec.help()) : null,
      this.draft.replaces || this.draft.mends ? el("p", { class: "help" }, _("This corrects an entry; the earlier one stays on record.")) : null,
      ...first,
      el("details", { class: "more" }, el("summary", {}, _("More")), ...more, this.throwAway()),
      el("div", { class: "bottom" }, el("button", { type: "submit", class: "first" }, _("Keep"))));
    this.root.replaceChildren(form);
  }

  // Two taps, so that a glove does not do it by itself.
  throwAway() {
    let asked = false;
    const press = async () => {
      if (!asked) {
        asked = true;
        away.textContent = _("Really? Tap once more");
        return;
      }
      this.done = true;
      clearTimeout(this.timer);
      await kept.remove("drafts", this.draft.id).catch(() => {});
      this.ctx.go("");
    };
    const away = button(_("Throw this form away"), press, "wide plain");
    return away;
  }

  show(problems) {
    let first = null;
    for (const node of this.root.querySelectorAll("[data-name]")) {
      const text = problems[node.dataset.name] || "";
      const line = node.querySelector("p.wrong");
      line.textContent = text;
      line.hidden = !text;
      for (const input of node.querySelectorAll("input, select, textarea")) {
        if (text) input.setAttribute("aria-invalid", "true");
        else input.removeAttribute("aria-invalid");
      }
      if (text) {
        node.closest("details")?.setAttribute("open", "");
        first ??= node.querySelector("input, select, textarea, button");
      }
    }
    const n = Object.keys(problems).length;
    if (n) say(ngettext("{n} thing to mend before this can be kept.", "{n} things to mend before this can be kept.", n), { wrong: true });
    first?.focus();
  }

  async save() {
    if (this.saving) return;
    const { made, problems } = madeOf(this.spec, this.values, this.ctx);
    this.show(problems || {});
    if (problems) return;
    if (this.draft.replaces) made[0].fields.replaces = this.draft.replaces;
    this.saving = true;
    // The same ids at every attempt: should one have arrived after all, another is not a second entry.
    this.ids = made.map((_made, index) => this.ids?.[index] || newId());
    made.forEach((m, index) => { m.id = this.ids[index]; });
    try {
      const photo = this.values.photo instanceof Blob ? this.values.photo : null;
      const entries = await keep(this.ctx.trial.slug, made, { photo, draft: this.draft.id });
      if (this.draft.mends) await kept.mend(entries.map((e) => e.id), (e) => ({ ...e, mends: this.draft.mends }));
      this.done = true;
      await this.remember().catch(() => {});
      await this.after(entries);
    } catch (error) {
      this.notKept(error, made);
    } finally {
      this.saving = false;
    }
  }

  async remember() {
    const found = Object.fromEntries((this.spec.remember || []).map((n) => [n, this.values[n]]).filter(([, v]) => v));
    await kept.setFact(`last-${this.spec.name}-${this.ctx.trial.slug}`, found);
  }

  async after(entries) {
    soon();
    const strips = [...new Set(entries.flatMap((e) => e.fields.strips || []))].join("+");
    const what = strips ? _("{what}, strip {strips}", { what: this.spec.title(), strips }) : this.spec.title();
    const text = _("Kept on this phone: {what}.", { what });
    const next = !this.draft.replaces && !this.draft.mends && this.spec.next?.(this.values, this.ctx);
    if (!next) {
      say(text, { stays: true });
      this.ctx.go("");
    } else {
      this.stop();
      const fresh = new Form(this.root, this.spec, this.ctx, null);
      Object.assign(fresh.values, next);
      fresh.draw();
      window.scrollTo(0, 0);
      say(text);
    }
  }

  // The phone could not write it down. Nothing is claimed; the form stays as it is.
  notKept(error, made) {
    const full = kept.isFull(error);
    const text = full
      ? _("This phone is full. This entry is NOT kept yet; it stays on this screen.")
      : _("This phone could not keep the entry ({why}). It is NOT kept yet; it stays on this screen.", { why: error?.name || error });
    const ready = made.map((m) => ({ kind: m.kind, id: m.id, fields: { time: clock(), ...m.fields } }));
    const straight = async () => {
      try {
        const results = await sendStraight(this.ctx.trial.slug, ready);
        if (!results.every((r) => ON_THE_FARM.includes(r.state))) throw new Error(results[0].state);
        this.done = true;
        say(_("This entry is on the farm."), { stays: true });
        this.ctx.go("");
      } catch {
        say(_("The farm does not answer. This entry is NOT kept yet; it stays on this screen."), { wrong: true, actions });
      }
    };
    const file = () => saveAsFile([{ trial: this.ctx.trial.slug, entries: ready }], "one-entry");
    const actions = [
      button(_("Send it straight to the farm"), straight, "first"),
      button(_("Save it as a file"), file),
      button(_("Try again"), () => this.save()),
    ];
    say(text, { wrong: true, actions });
  }
}
