// All entries of this phone: where each is, what is in it, and how to correct it.

import * as kept from "./kept.js";
import { ON_THE_FARM, all, clock, current, newId, stateText } from "./entries.js";
import { bringIn, saveUnsent } from "./files_out.js";
import { fieldsOf } from "./forms.js";
import { button, el, freshId, say } from "./parts.js";
import { screenFor, valuesOf } from "./screens.js";
import { soon, tryAgain } from "./sending.js";
import { _, ngettext, number, timeText } from "./words.js";

function title(entry) {
  const what = screenFor(entry)?.title() || entry.kind;
  const strips = (entry.fields.strips || []).join("+");
  return strips ? _("{what}, strip {strips}", { what, strips }) : what;
}

function line(entry, counts) {
  const text = [timeText(entry.fields.time), counts ? stateText(entry) : _("corrected since")].join(" · ");
  return el("li", { class: entry.state }, el("a", { href: `#entry/${entry.id}` }, el("strong", {}, title(entry)), el("span", {}, text)));
}

// What other phones have counted in the same strips, so that two counts are seen as two.
function alsoCounted(ctx, entries) {
  const mine = new Set(entries.map((e) => e.id));
  const strips = new Set(entries.filter((e) => e.kind === "stand_counts").flatMap((e) => e.fields.strips || []));
  const others = (ctx.trial?.counted || []).filter((c) => c.kind === "stand_counts" && !mine.has(c.id) && (c.strips || []).some((s) => strips.has(s)));
  if (!others.length) return null;
  const found = [...new Set(others.flatMap((c) => c.strips))].filter((s) => strips.has(s)).sort((a, b) => a - b).join(", ");
  return el("p", { class: "note" }, _("Others have counted in these strips too: {found}. Both counts are kept.", { found }));
}

export async function entriesPage(root, ctx) {
  const entries = await all(ctx.trial?.slug);
  const photos = (await kept.every("photos")).filter((p) => p.state !== "stored");
  if (ctx.gone()) return;
  const counting = new Set(current(entries).map((e) => e.id));
  const unsent = entries.filter((e) => !ON_THE_FARM.includes(e.state));
  const id = freshId("file");
  const input = el("input", { id, type: "file", accept: ".json,application/json", class: "file" });
  input.addEventListener("change", async () => {
    try {
      const { fresh, known } = await bringIn(await input.files[0].text());
      say(`${ngettext("{n} entry brought in.", "{n} entries brought in.", fresh)} ${known ? ngettext("{n} was here already.", "{n} were here already.", known) : ""}`.trim());
      soon();
    } catch (error) {
      say(error.message, { wrong: true });
    }
  });
  root.replaceChildren(...[
    el("div", { class: "row" },
      unsent.length || photos.length ? button(_("Send now"), () => soon(), "first") : null,
      unsent.some((e) => e.state === "refused") ? button(_("Try the refused ones again"), () => tryAgain()) : null),
    photos.length ? el("p", {}, ngettext("{n} photo waits to be sent.", "{n} photos wait to be sent.", photos.length)) : null,
    alsoCounted(ctx, entries),
    entries.length ? el("ul", { class: "list" }, ...entries.map((e) => line(e, counting.has(e.id)))) : el("p", {}, _("Nothing has been written down on this phone yet.")),
    el("h2", {}, _("Last resort: as a file")),
    el("p", {}, _("If this phone cannot send, save its entries as a file and bring the file in here on any phone or computer that can.")),
    unsent.length ? el("div", { class: "row" }, button(_("Save {n} unsent as a file", { n: number(unsent.length) }), () => saveUnsent())) : null,
    el("div", { class: "field" }, el("label", { for: id }, _("Bring a file in")), input)].filter(Boolean));
}

function valueText(value, options) {
  const option = options?.find(([known]) => known === String(value));
  if (option) return option[1];
  if (Array.isArray(value)) return value.map((v) => (typeof v === "number" ? number(v, 2) : v)).join("  ");
  if (typeof value === "boolean") return value ? _("yes") : _("no");
  return typeof value === "number" ? number(value, 6) : String(value);
}

// Labels of what the phone adds itself, or turns into another form than it was asked in.
function ownLabels() {
  return {
    time: _("Time"), who: _("Who"), strips: _("Strip"), lon: _("Longitude"), lat: _("Latitude"), readings: _("Readings"), run: _("Run"),
    outline: _("Corners walked round"), event: _("What happened"), method: _("Sown as"),
    split_fraction: _("Share of the first strip"), split_sd_fraction: _("may be off by"), line: _("Line of a twin row"),
  };
}

async function facts(entry, spec, ctx) {
  const here = { ...ctx };
  if (spec && here.trial) await spec.prepare?.(here);
  const fields = spec && here.trial ? fieldsOf(spec, valuesOf(entry), here) : [];
  const own = ownLabels();
  const parts = Object.entries(entry.fields).filter(([name]) => name !== "replaces").map(([name, value]) => {
    const field = name !== "time" && fields.find((f) => f.name === name);
    const label = field ? [field.label, field.unit].filter(Boolean).join(", ") : own[name] || name.replaceAll("_", " ");
    const text = name === "time" ? timeText(value) : name === "event" ? eventText(value) : valueText(value, field?.options);
    return el("div", {}, el("dt", {}, label), el("dd", {}, text));
  });
  return el("dl", {}, ...parts);
}

function eventText(event) {
  return { sown: _("sown"), not_sown: _("not sown"), other: _("note") }[event] || event;
}

function problems(entry) {
  if (!entry.problems?.length) return null;
  const text = (p) => {
    if (typeof p === "string") return p;
    const known = {
      "no trial": _("This trial is not shared with you any more."),
      "too large": _("This entry is too large to be taken."),
      unreadable: _("The farm cannot read this entry. Correct it, or save it as a file."),
    };
    return [p.field, known[p.message] || p.message, p.allowed ? _("Allowed: {what}.", { what: p.allowed }) : ""].filter(Boolean).join(" ");
  };
  return el("ul", { class: "problems" }, ...entry.problems.map((p) => el("li", {}, text(p))));
}

export async function entryPage(root, ctx, id) {
  const entry = await kept.one("entries", id);
  const spec = entry && screenFor(entry);
  const told = entry && (await facts(entry, spec, ctx));
  if (ctx.gone()) return;
  if (!entry) { ctx.go("entries"); return; }
  const gone = !current(await all(entry.trial)).some((e) => e.id === id);
  const correct = async () => {
    // A record that the farm has not accepted cannot be replaced there; its mended form is an entry of its own.
    const how = ["held", "refused"].includes(entry.state) ? { mends: entry.id } : { replaces: entry.id };
    const draft = { id: newId(), screen: spec.name, trial: entry.trial, values: valuesOf(entry), made: clock(), ...how };
    try {
      await kept.put("drafts", draft);
      ctx.go(`${spec.name}/${draft.id}`);
    } catch {
      say(_("This phone is full. Send what waits, or save it as a file."), { wrong: true });
    }
  };
  root.replaceChildren(...[
    el("h2", {}, title(entry)),
    el("p", { class: "large" }, gone ? _("Corrected since; kept on record.") : stateText(entry)),
    problems(entry), told,
    gone || !spec ? null : el("div", { class: "bottom" }, button(_("Correct it"), correct, "first"))].filter(Boolean));
}
