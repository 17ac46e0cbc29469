// As sown: strip, method, keep; three taps a pass. The only form that shows methods, because here they are what is recorded.

import { strip } from "./in_the_crop.js";
import { _ } from "./words.js";

function methodText(ctx, method, values) {
  const drawn = ctx.trial.strips.find((s) => s.strip === Number(values.strip))?.method === method.letter;
  const text = `${method.letter}: ${method.name || ""}`;
  return drawn ? _("{method} (as drawn)", { method: text }) : text;
}

export const sown = {
  name: "sown",
  kind: "events",
  title: () => _("As sown"),
  hint: () => _("what was really sown in the strip"),
  remember: ["seed_lot", "speed_km_per_h"],
  redraw: ["strip", "what"],
  next: ({ strip: where, seed_lot, speed_km_per_h }, ctx) => {
    const numbers = ctx.trial.strips.map((s) => s.strip);
    const following = numbers[numbers.indexOf(Number(where)) + 1];
    return { seed_lot, speed_km_per_h, ...(following ? { strip: String(following), strip_by: "next" } : {}) };
  },
  fields: (ctx, values) => [
    strip(),
    {
      name: "what", type: "choice", label: _("Sown as"), needed: true, missing: _("Pick what was sown."),
      options: [...ctx.trial.methods.map((m) => [m.letter, methodText(ctx, m, values)]), ["not_sown", _("not sown")]],
    },
    ...(values.what === "not_sown" ? [] : [
      { name: "seed_lot", type: "text", label: _("Seed lot in the hopper"), longest: 40, more: true },
      { name: "speed_km_per_h", type: "number", label: _("Speed"), unit: "km/h", above: 0, max: 40, more: true },
      { name: "stops", type: "count", label: _("Stops in the strip"), min: 0, max: 200, more: true },
      { name: "rows_off", type: "count", label: _("Row units that were off"), min: 0, max: 48, more: true },
    ]),
  ],
  build: ({ what, ...rest }) => [what === "not_sown" ? { ...rest, event: "not_sown" } : { ...rest, event: "sown", method: what }],
};
