// The first screen: which trial, where one stands, what can be written down, what is half filled.

import * as kept from "./kept.js";
import { mayEnter } from "./farm.js";
import { button, el, fill } from "./parts.js";
import * as place from "./place.js";
import { SCREENS, screenOf } from "./screens.js";
import { _, timeText } from "./words.js";

const PARTS = () => [
  [_("In the crop"), ["count", "spacing", "depth", "damage", "note"]],
  [_("Sowing day"), ["sown"]],
  [_("Harvest day"), ["load", "weighing", "sample", "stubble"]],
];

export function noTrial(root, ctx) {
  const text = {
    out: _("Sign in once while there is a connection; then this page works without one."),
    away: _("The farm does not answer, and this phone does not know a trial yet."),
  }[ctx.why] || _("Getting the trials from the farm …");
  fill(root, el("p", { class: "large" }, text),
    ctx.why === "none" ? el("p", {}, _("No trial has been shared with you yet.")) : null,
    el("div", { class: "row" }, ctx.why === "out" ? el("a", { class: "button first", href: "/people/login/?next=/phone/" }, _("Sign in")) : null,
      ctx.why === "away" || ctx.why === "none" ? button(_("Ask again"), () => ctx.refresh(), "first") : null));
}

function trialPick(ctx) {
  if (ctx.trials.length === 1) return el("p", { class: "trial" }, `${ctx.trial.name}, ${ctx.trial.season}`);
  const select = el("select", { id: "trial" }, ...ctx.trials.map((t) => {
    const option = el("option", { value: t.slug }, `${t.name}, ${t.season}`);
    option.selected = t.slug === ctx.trial.slug;
    return option;
  }));
  select.addEventListener("change", () => ctx.choose(select.value));
  return el("div", { class: "field" }, el("label", { for: "trial" }, _("Trial")), select);
}

function whereLine(ctx) {
  if (!ctx.trial.strips.length) return el("p", { class: "place" }, _("No strips have been laid out in this trial yet."));
  const line = el("p", { class: "place large", "aria-live": "polite" });
  ctx.leave.push(place.follow(() => {
    const { text } = place.said(ctx.trial.strips);
    if (line.textContent !== text) line.textContent = text;
  }));
  return line;
}

function entry(spec) {
  return el("li", {}, el("a", { href: `#${spec.name}` }, el("strong", {}, spec.title()), el("span", {}, spec.hint())));
}

async function halfFilled(ctx) {
  const drafts = (await kept.every("drafts")).filter((d) => d.trial === ctx.trial.slug && screenOf(d.screen));
  if (!drafts.length) return null;
  return el("section", { "aria-labelledby": "half" }, el("h2", { id: "half" }, _("Half filled")),
    el("ul", { class: "list" }, ...drafts.map((d) => {
      const where = d.values.strip ? _("strip {strip}", { strip: d.values.strip }) : "";
      const text = [where, timeText(d.made)].filter(Boolean).join(", ");
      return el("li", {}, el("a", { href: `#${d.screen}/${d.id}` }, el("strong", {}, screenOf(d.screen).title()), el("span", {}, text)));
    })));
}

export async function home(root, ctx) {
  const half = await halfFilled(ctx);
  if (ctx.gone()) return;
  const parts = PARTS().map(([title, names], index) => {
    const open = names.map((n) => SCREENS[n]).filter((s) => mayEnter(ctx.trial, s.kind) && !(ctx.trial.day && s.name === "note"));
    if (!open.length) return null;
    return el("section", { "aria-labelledby": `part-${index}` }, el("h2", { id: `part-${index}` }, title), el("ul", { class: "list" }, ...open.map(entry)));
  });
  const only_looks = parts.some(Boolean) ? null : el("p", {}, _("You may look at this trial on the farm's computer, but not write anything down."));
  root.replaceChildren(...[trialPick(ctx), whereLine(ctx), half, only_looks, ...parts,
    el("p", {}, el("a", { class: "button", href: "#entries" }, _("All entries")), " ", el("a", { class: "button", href: "#phone" }, _("This phone")))].filter(Boolean));
}
