// A damaged patch: walked round with the phone, or its length or area given.

import { area, areaInStrips, crossesItself, planeAt } from "./ground.js";
import { strip } from "./in_the_crop.js";
import { button, el } from "./parts.js";
import * as place from "./place.js";
import { _, number } from "./words.js";

const STEP_M = 1;
const ROUGHEST_M = 25;
const MOST_POINTS = 2000;

const track = (values) => values.track || [];

function far(a, b) {
  const [x, y] = planeAt(a[0], a[1])(b);
  return Math.hypot(x, y);
}

function patch(values, ctx) {
  const ring = track(values);
  return ring.length >= 3 && !values.walking ? areaInStrips(ring, ctx.trial.strips) : null;
}

function walkText(values, ctx) {
  const ring = track(values);
  if (values.walking) {
    const now = place.position();
    const about = now ? _("position to about {m} m", { m: number(now.accuracy_m) }) : _("Looking for the position …");
    return _("Walk round the patch. {n} places so far, {about}.", { n: ring.length, about });
  }
  if (!ring.length) return _("Walk once round the patch with the phone, or give its length or area below.");
  if (ring.length < 3) return _("Too few places; walk round once more.");
  if (crossesItself(ring.map(planeAt(ring[0][0], ring[0][1])))) return _("The way round crosses itself; walk round once more.");
  const found = patch(values, ctx);
  const each = found.hit.map((h) => _("strip {strip}: {a} m²", { strip: h.strip, a: number(h.area_m2, 1) })).join(", ");
  const rough = _("Rough: each place was known to about {m} m.", { m: number(values.track_accuracy_m || 0) });
  const whole = _("The patch has {a} m².", { a: number(found.whole_m2, 1) });
  return each
    ? `${whole} ${_("In the weighed cuts: {each}.", { each })} ${rough}`
    : `${whole} ${_("None of it lies in a weighed cut.")} ${rough}`;
}

function renderWalk(values, change, ctx) {
  const text = el("p", { class: "place", role: "status" });
  const press = el("div", { class: "row" });
  const box = el("div", { class: "field", "data-name": "walk" }, text, press, el("p", { class: "wrong", hidden: true }));
  let lock = null;
  const begin = () => {
    change("track", []);
    change("track_accuracy_m", 0);
    change("walking", true);
    navigator.wakeLock?.request("screen").then((got) => { lock = got; }).catch(() => {});
    show();
  };
  const end = () => {
    change("walking", false);
    lock?.release().catch(() => {});
    show();
  };
  const show = () => {
    text.textContent = walkText(values, ctx);
    const again = track(values).length ? _("Walk round again") : _("Start walking round");
    press.replaceChildren(values.walking ? button(_("Round: close the patch"), end, "first") : button(again, begin));
  };
  const step = () => {
    if (!values.walking) return;
    const now = place.position();
    const ring = track(values);
    if (now && now.accuracy_m <= ROUGHEST_M && ring.length < MOST_POINTS) {
      const at = [Math.round(now.lon * 1e7) / 1e7, Math.round(now.lat * 1e7) / 1e7];
      if (!ring.length || far(ring.at(-1), at) >= STEP_M) {
        change("track", [...ring, at]);
        change("track_accuracy_m", Math.max(values.track_accuracy_m || 0, now.accuracy_m));
      }
    }
    show();
  };
  ctx.leave.push(place.follow(step));
  ctx.leave.push(() => lock?.release().catch(() => {}));
  show();
  return box;
}

function causes() {
  return [
    ["boar", _("wild boar")], ["deer", _("deer")], ["crows", _("crows")], ["hail", _("hail")], ["lodging", _("lodging")],
    ["wet_hole", _("wet hole")], ["missed_spraying", _("missed by the sprayer")], ["header_loss", _("lost at the header")],
    ["lodged_cobs", _("lodged, cobs left")], ["other", _("another cause")],
  ];
}

// The way round as records have it: longitude and latitude of each place.
function outline(values) {
  return track(values).map(([lon, lat]) => `${lon.toFixed(7)} ${lat.toFixed(7)}`).join("; ");
}

export const damage = {
  name: "damage",
  kind: "damage",
  title: () => _("Damage patch"),
  hint: () => _("walked round, or by its length"),
  redraw: ["walking"],
  fields: (ctx, values) => [
    { name: "walk", type: "custom", render: renderWalk },
    ...(track(values).length >= 3 && !values.walking ? [] : [
      { ...strip(), needed: false },
      { name: "length_m", type: "number", label: _("Length along the strip, whole width"), unit: "m", above: 0, max: 5000 },
      { name: "area_m2", type: "number", label: _("or area in the weighed cut"), unit: "m²", above: 0, max: 100000 },
    ]),
    { name: "cause", type: "choice", label: _("Cause"), options: causes(), needed: true, missing: _("Pick the cause.") },
    { name: "degree_percent", type: "number", label: _("How much of the crop is lost there"), unit: "%", above: 0, max: 100,
      quick: [100, 75, 50, 25].map((n) => [`${n} %`, String(n)]), help: _("Empty means all of it.") },
    {
      name: "by_method", type: "choice", label: _("Could the way of sowing have caused it?"),
      options: [["unknown", _("not known")], ["no", _("no")], ["may_be", _("may be")]],
    },
  ],
  check: (read, values) => {
    if (values.walking) return { walk: _("Close the patch first.") };
    const ring = track(values);
    if (ring.length >= 3) {
      if (crossesItself(ring.map(planeAt(ring[0][0], ring[0][1])))) return { walk: _("The way round crosses itself; walk round once more.") };
      if (area(ring.map(planeAt(ring[0][0], ring[0][1]))) < 1) return { walk: _("Too few places; walk round once more.") };
      return {};
    }
    const out = read.strip === undefined ? { strip: _("Pick the strip.") } : {};
    if (read.length_m !== undefined && read.area_m2 !== undefined) out.area_m2 = _("Either the length or the area.");
    if (read.length_m === undefined && read.area_m2 === undefined) out.length_m = _("Give a length or an area, or walk round it.");
    return out;
  },
  build: (rest, values) => (track(values).length >= 3 ? [{ ...rest, outline: outline(values) }] : [rest]),
};
