// What is taken while walking through the crop: stand counts, depths, notes, and how deep the seed lies.

import { rowUnits } from "./farm.js";
import { button, el, freshId, say } from "./parts.js";
import { _, decimalSign, number } from "./words.js";

const LONGEST_EDGE_PX = 2560;

export const strip = () => ({ name: "strip", type: "strip", label: _("Strip"), needed: true, missing: _("Pick the strip.") });

function rowUnit(ctx, values) {
  return {
    name: "row_unit", type: "count", label: _("Row unit, from the left"), min: 1, max: 48,
    help: _("{n} row units on this planter; count each of one pass once.", { n: rowUnits(ctx.trial, values.strip) }),
  };
}

// A two-row thousandth of a hectare is shorter; this is one row's, at the row spacing of the trial.
function lengths(ctx) {
  const spacings = [...new Set(ctx.trial.methods.map((m) => m.row_spacing_m).filter(Boolean))];
  const shares = spacings.map((s) => {
    const length = (10 / s).toFixed(2).replace(/0$/, "");
    return [_("{m} m: 1/1000 ha", { m: number(Number(length), 2) }), length.replace(".", decimalSign())];
  });
  return [[_("{m} m", { m: "5" }), "5"], [_("{m} m", { m: number(1.33, 2) }), `1${decimalSign()}33`], ...shares];
}

export const LOSSES = ["crows", "boar", "wireworm", "crust", "hoe", "other"];

function lossLabel(cause) {
  return {
    crows: _("Lost to crows"),
    boar: _("Lost to boar"),
    wireworm: _("Lost to wireworm"),
    crust: _("Lost under a crust"),
    hoe: _("Lost to the hoe"),
    other: _("Lost otherwise"),
  }[cause];
}

function nextUnit(values, ctx) {
  const now = Number(values.row_unit);
  if (!now) return null;
  const last = rowUnits(ctx.trial, values.strip);
  const on = now < last ? { row_unit: String(now + 1) } : {};
  const { strip: where, strip_by: by, length_m, stage } = values;
  return { strip: where, strip_by: by, length_m, stage, ...on };
}

export const standCount = {
  name: "count",
  kind: "stand_counts",
  title: () => _("Stand count"),
  hint: () => _("plants on a measured length, row unit by row unit"),
  remember: ["length_m", "stage"],
  next: nextUnit,
  redraw: ["strip"],
  fields: (ctx, values) => [
    strip(),
    rowUnit(ctx, values),
    { name: "length_m", type: "number", label: _("Length counted"), unit: "m", above: 0, max: 500, needed: true, quick: lengths(ctx) },
    { name: "plants", type: "count", label: _("Plants, late ones too"), min: 0, max: 100000, needed: true, big: true },
    {
      name: "late_plants", type: "count", label: _("of them late: two leaves behind"), min: 0, max: 100000,
      help: _("Leave empty if you did not look."),
    },
    ...LOSSES.map((c) => ({ name: `lost_${c}`, type: "count", label: lossLabel(c), min: 0, max: 100000, more: true })),
    {
      name: "stage", type: "choice", label: _("When"), more: true,
      options: [["emerging", _("coming up")], ["three_leaves", _("three leaves")], ["after_last_hoeing", _("after the last hoeing")]],
    },
    { name: "rows", type: "count", label: _("Rows counted together"), min: 1, max: 48, more: true, help: _("A twin row is one row.") },
  ],
  check: (read) => (read.late_plants > read.plants
    ? { late_plants: _("More late plants than plants; late ones are counted in plants too.") } : {}),
};

export const depth = {
  name: "depth",
  kind: "depths",
  title: () => _("Depth reading"),
  hint: () => _("from the seed to the closed surface"),
  next: ({ strip: where, strip_by: by, row_unit }) => ({ strip: where, strip_by: by, row_unit }),
  fields: (ctx, values) => [
    strip(),
    rowUnit(ctx, values),
    { name: "depth_cm", type: "number", label: _("Depth"), unit: "cm", min: 0, max: 20, needed: true,
      quick: [3, 4, 5, 6, 7].map((n) => [_("{n} cm", { n }), String(n)]) },
  ],
};

// A photograph made small enough to be kept by the dozen; what the camera wrote into it stays behind.
export async function smaller(file) {
  const image = await createImageBitmap(file, { imageOrientation: "from-image" });
  const scale = Math.min(1, LONGEST_EDGE_PX / Math.max(image.width, image.height));
  const canvas = document.createElement("canvas");
  [canvas.width, canvas.height] = [Math.round(image.width * scale), Math.round(image.height * scale)];
  canvas.getContext("2d").drawImage(image, 0, 0, canvas.width, canvas.height);
  image.close();
  return new Promise((resolve, reject) => {
    canvas.toBlob((blob) => (blob ? resolve(blob) : reject(new Error("no picture"))), "image/jpeg", 0.85);
  });
}

function renderPhoto(values, change) {
  const id = freshId("photo");
  const shown = el("div", { class: "photo" });
  const show = () => {
    if (!(values.photo instanceof Blob)) { shown.replaceChildren(); return; }
    const url = URL.createObjectURL(values.photo);
    const image = el("img", { src: url, alt: _("the photo taken"), on: { load: () => URL.revokeObjectURL(url) } });
    shown.replaceChildren(image, button(_("Without this photo"), () => { change("photo", null); show(); }));
  };
  const input = el("input", { id, type: "file", accept: "image/*", capture: "environment", class: "file" });
  input.addEventListener("change", async () => {
    try {
      if (input.files[0]) change("photo", await smaller(input.files[0]));
    } catch {
      say(_("This file is not a picture that the phone can read."), { wrong: true });
    }
    show();
  });
  show();
  return el("div", { class: "field", "data-name": "photo" }, el("label", { for: id }, _("Photo")), input, shown, el("p", { class: "wrong", hidden: true }));
}

export const note = {
  name: "note",
  kind: "events",
  title: () => _("Note with photo"),
  hint: () => _("anything worth remembering, where you stand"),
  fields: () => [strip(), { name: "photo", type: "custom", render: renderPhoto }],
  check: (read, values) => (read.note || values.photo instanceof Blob ? {} : { note: _("Write something, or take a photo.") }),
  build: (rest, values) => {
    const text = String(values.note || "").trim();
    const photo = values.photo instanceof Blob ? "[photo]" : "";
    return [{ ...rest, event: "other", note: [text, photo].filter(Boolean).join(" ").slice(0, 600) }];
  },
};
