// Harvest day: loads, weighings, dry-matter samples, stubble height.

import * as entries from "./entries.js";
import { strip } from "./in_the_crop.js";
import { _, timeText } from "./words.js";

async function mine(ctx, kind) {
  return entries.current((await entries.all(ctx.trial.slug)).filter((e) => e.kind === kind));
}

const MOST_LOADS = 5;
const RECENT_MS = 36 * 3_600_000;

const unique = (list) => [...new Set(list.filter(Boolean))];

// Asked before a harvest form is shown: what this phone and the farm know of loads, trailers and scales.
export async function knownOfHarvest(ctx) {
  const [loads, weighings] = [await mine(ctx, "loads"), await mine(ctx, "weighings")];
  const own = loads.map((e) => ({ id: e.id, ...e.fields }));
  const there = new Set(own.map((l) => l.id));
  const recent = (l) => Date.now() - new Date(l.time).getTime() < RECENT_MS;
  const gone = new Set((await entries.all(ctx.trial.slug)).map((e) => e.fields.replaces).filter(Boolean));
  ctx.known = {
    loads: [...own, ...ctx.trial.loads.filter((l) => !there.has(l.id) && !gone.has(l.id) && recent(l))].sort((a, b) => (a.time < b.time ? 1 : -1)),
    weighed: new Set(weighings.map((e) => e.fields.load).filter(Boolean)),
    trailers: unique([...own.map((l) => l.trailer), ...weighings.map((e) => e.fields.trailer), ...ctx.trial.trailers]),
    scales: unique([...weighings.map((e) => e.fields.scale), ...ctx.trial.scales]),
    order: Math.max(0, ...own.filter((l) => String(l.time).slice(0, 10) === entries.clock().slice(0, 10)).map((l) => l.order || 0)),
  };
}

export const load = {
  name: "load",
  kind: "loads",
  title: () => _("Load"),
  hint: () => _("which strip went into which trailer"),
  prepare: knownOfHarvest,
  start: (ctx) => ({ order: String(ctx.known.order + 1) }),
  fields: (ctx) => [
    strip(),
    { name: "trailer", type: "text", label: _("Trailer"), longest: 40, known: ctx.known.trailers, needed: true },
    { name: "part", type: "choice", label: _("What it is"), options: [["", _("weighed cut")], ["headland", _("headland")], ["opening", _("opening cut")]] },
    { name: "order", type: "count", label: _("Load of the day"), min: 1, max: 9999 },
    {
      name: "second", type: "number", whole: true, label: _("A second strip in the same trailer"), min: 1, max: 9999, more: true,
      help: _("Only if it could not be kept apart."),
    },
    { name: "split_percent", type: "number", label: _("then of it from the first strip"), unit: "%", above: 0, max: 99, more: true },
    { name: "split_off_percent", type: "number", label: _("and this may be off by"), unit: "%", above: 0, max: 50, more: true },
  ],
  check: (read, values, ctx) => {
    const out = {};
    if (read.second && read.second === read.strip) out.second = _("This is the same strip.");
    else if (read.second && !ctx.trial.strips.some((s) => s.strip === read.second)) out.second = _("There is no strip {n}.", { n: read.second });
    if (read.split_percent && !read.second) out.second = _("This is missing.");
    if (read.split_off_percent && !read.split_percent) out.split_percent = _("This is missing.");
    return out;
  },
  build: ({ second, split_percent, split_off_percent, ...rest }, values) => [{
    ...rest,
    ...(second ? { strips: [Number(values.strip), second] } : {}),
    ...(second && split_percent ? { split_fraction: split_percent / 100 } : {}),
    ...(second && split_percent && split_off_percent ? { split_sd_fraction: split_off_percent / 100 } : {}),
  }],
};

function loadOptions(ctx) {
  const open = ctx.known.loads.filter((l) => !ctx.known.weighed.has(l.id)).slice(0, MOST_LOADS);
  const text = (l) => _("strip {strips}, {trailer}, {time}", {
    strips: (l.strips || []).join("+"), trailer: l.trailer || _("no trailer named"), time: timeText(l.time) });
  return [...open.map((l) => [l.id, text(l)]), ["", _("not known: by trailer and time")], ["other", _("not of this trial")]];
}

const KG = { type: "number", unit: "kg", max: 80000 };

export const weighing = {
  name: "weighing",
  kind: "weighings",
  title: () => _("Weighing"),
  hint: () => _("what the scale said, full or empty"),
  prepare: knownOfHarvest,
  remember: ["scale"],
  fields: (ctx) => [
    { name: "load", type: "choice", label: _("Which load"), options: loadOptions(ctx) },
    { ...KG, name: "gross_kg", label: _("Full"), above: 0 },
    { ...KG, name: "tare_kg", label: _("Empty"), min: 0, max: 40000, help: _("Alone, it is the empty trailer; weigh it again in the day.") },
    { name: "trailer", type: "text", label: _("Trailer"), longest: 40, known: ctx.known.trailers },
    { name: "scale", type: "text", label: _("Scale"), longest: 40, known: ctx.known.scales },
    { name: "slip", type: "text", label: _("Number on the slip"), longest: 40, more: true },
    { ...KG, name: "slip_net_kg", label: _("Net, if the slip says nothing else"), above: 0, more: true },
    {
      name: "cumulative", type: "choice", label: _("Emptied since the last reading?"), more: true,
      options: [["", _("yes, as usual")], ["yes", _("no: only what was added counts")]],
    },
  ],
  check: (read) => {
    if (read.gross_kg === undefined && read.tare_kg === undefined && read.slip_net_kg === undefined) return { gross_kg: _("This weighing has no mass.") };
    if (read.tare_kg !== undefined && read.gross_kg <= read.tare_kg) return { gross_kg: _("Full is not above empty; were the two swapped?") };
    if (read.cumulative && (read.gross_kg === undefined || read.tare_kg !== undefined)) return { cumulative: _("Then give the full mass alone.") };
    return {};
  },
  build: ({ cumulative, ...rest }) => [{ ...rest, ...(cumulative ? { cumulative: true } : {}) }],
};

const G = { type: "number", unit: "g", above: 0, max: 100000 };

export const sample = {
  name: "sample",
  kind: "samples",
  title: () => _("Dry-matter sample"),
  hint: () => _("wet and dry mass, or the percentage"),
  help: () => _("Not dried yet? Fill in what you have and go back: it waits under “Half filled” until the dry mass is known."),
  remember: ["taken", "dried", "dried_by"],
  fields: () => [
    strip(),
    { ...G, name: "wet_g", label: _("Wet") },
    { ...G, name: "dry_g", label: _("Dry") },
    { name: "dry_matter_percent", type: "number", label: _("or dry matter"), unit: "%", min: 8, max: 99 },
    {
      name: "taken", type: "choice", label: _("Taken"),
      help: _("From the tipped heap when the vehicle has left, never on the load."),
      options: [["scoop", _("with a scoop")], ["hand", _("by hand")], ["chute", _("at the chute")], ["sensor", _("by the sensor")], ["plants", _("cut plants")]],
    },
    { name: "scoops", type: "count", label: _("Scoops mixed"), min: 1, max: 200 },
    { name: "bags", type: "count", label: _("Bags filled"), min: 1, max: 20 },
    {
      name: "dried", type: "choice", label: _("Dried"), more: true,
      options: [["oven", _("oven")], ["microwave", _("microwave")], ["meter", _("moisture meter")], ["lab", _("laboratory")]],
    },
    { name: "dried_by", type: "text", label: _("Dried by"), longest: 80, more: true },
    { name: "hours_to_dry", type: "number", label: _("Hours from taking to drying or freezing"), unit: "h", min: 0, max: 2000, more: true },
  ],
  check: (read) => {
    const oven = read.wet_g !== undefined && read.dry_g !== undefined;
    if (!oven && read.dry_matter_percent === undefined) {
      const one = read.wet_g !== undefined ? "dry_g" : read.dry_g !== undefined ? "wet_g" : "dry_matter_percent";
      return { [one]: _("Wet and dry, or the percentage.") };
    }
    if (read.dry_matter_percent !== undefined && (read.wet_g !== undefined || read.dry_g !== undefined)) return { dry_matter_percent: _("Either masses or the percentage, not both.") };
    if (oven && read.dry_g >= read.wet_g) return { dry_g: _("Dry is not below wet; were the two swapped?") };
    return {};
  },
};

export const stubble = {
  name: "stubble",
  kind: "stubble",
  title: () => _("Stubble height"),
  hint: () => _("cutting height, measured after the harvester"),
  remember: ["stubs"],
  next: ({ strip: where, strip_by: by, stubs }) => ({ strip: where, strip_by: by, stubs }),
  fields: () => [
    strip(),
    { name: "height_cm", type: "number", label: _("Height"), unit: "cm", above: 0, max: 150, needed: true },
    { name: "stubs", type: "count", label: _("Stubs measured, mean entered"), min: 1, max: 1000 },
  ],
};
