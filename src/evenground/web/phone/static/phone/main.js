// Starts the page: language, trials, screens by address, the state line, sending, and the worker that keeps the page.

import * as kept from "./kept.js";
import { counts, tidy, whenChanged } from "./entries.js";
import { entriesPage, entryPage } from "./entries_page.js";
import { fetchTrials, knownTrials } from "./farm.js";
import { Form } from "./forms.js";
import { home, noTrial } from "./home.js";
import { button, el, hush, say } from "./parts.js";
import { clockLine, phonePage } from "./phone_page.js";
import { screenOf } from "./screens.js";
import { connection, send, soon } from "./sending.js";
import { _, ngettext, useLanguage } from "./words.js";

const root = document.getElementById("screen");
const app = { trials: null, trial: null, why: "", leave: [], shown: 0 };

function context() {
  const shown = app.shown;
  return {
    ...app,
    leave: app.leave,
    gone: () => app.shown !== shown,
    go: (to) => { if (location.hash.slice(1) === to) show(); else location.hash = to; },
    choose: async (slug) => { app.trial = app.trials.find((t) => t.slug === slug); await kept.setFact("trial", slug).catch(() => {}); show(); },
    refresh: async () => { await renew(); show(); },
    speak: async (language) => { await useLanguage(language); await kept.setFact("language", language).catch(() => {}); show(); },
  };
}

// Show the screen the address names.
async function show() {
  for (const stop of app.leave.splice(0)) stop();
  app.shown += 1;
  hush();
  const [name, id] = location.hash.slice(1).split("/");
  const ctx = context();
  const spec = screenOf(name);
  heading(spec ? spec.title() : { entries: _("All entries"), entry: _("Entry"), phone: _("This phone") }[name], name);
  if (name === "phone") await phonePage(root, ctx);
  else if (name === "entries") await entriesPage(root, ctx);
  else if (name === "entry") await entryPage(root, ctx, id);
  else if (!app.trial) noTrial(root, ctx);
  else if (spec) await formPage(spec, ctx, id);
  else await home(root, ctx);
  if (!ctx.gone()) root.focus({ preventScroll: true });
  window.scrollTo(0, 0);
  drawState();
  if (app.trial) usable();
}

// The first moment at which something can be written down; measured by a test on a slow phone.
function usable() {
  if (document.documentElement.dataset.ready) return;
  document.documentElement.dataset.ready = "yes";
  performance.mark("ready");
}

function heading(text, name) {
  const up = name === "entry" ? "#entries" : "#";
  document.getElementById("top").replaceChildren(
    ...(text ? [el("a", { class: "back", href: up }, el("span", { "aria-hidden": "true" }, "‹\u00a0"), _("Back"))] : []),
    el("h1", { id: "title" }, text || "evenground"),
  );
  document.title = text ? `${text} · evenground` : "evenground";
}

async function formPage(spec, ctx, id) {
  if (!app.trial.strips.length && spec.kind !== "weighings") {
    root.replaceChildren(el("p", {}, _("No strips have been laid out in this trial yet.")));
    return;
  }
  const draft = id ? await kept.one("drafts", id) : null;
  await spec.prepare?.(ctx);
  const last = draft ? {} : await kept.fact(`last-${spec.name}-${app.trial.slug}`, {});
  if (ctx.gone()) return;
  const form = new Form(root, spec, ctx, draft);
  if (!draft) Object.assign(form.values, last, spec.start?.(ctx));
  form.draw();
}

// One line that always tells where the entries are.
async function drawState() {
  const n = await counts();
  const parts = [];
  if (n.waiting) parts.push(ngettext("{n} on this phone", "{n} on this phone", n.waiting));
  if (n.photos) parts.push(ngettext("{n} photo on this phone", "{n} photos on this phone", n.photos));
  if (n.refused) parts.push(ngettext("{n} not taken", "{n} not taken", n.refused));
  if (n.held) parts.push(ngettext("{n} needs a look", "{n} need a look", n.held));
  if (n.farm) parts.push(ngettext("{n} on the farm", "{n} on the farm", n.farm));
  const text = [parts.join(", "), connectionText(n.waiting + n.refused + n.photos)].filter(Boolean).join(" · ");
  const line = document.getElementById("state");
  const out = connection.state === "out" && app.trial;
  line.replaceChildren(el("a", { href: "#entries" }, text || _("Nothing waits.")), out ? el("a", { class: "button first", href: "/people/login/?next=/phone/" }, _("Sign in")) : "");
  line.classList.toggle("waits", n.waiting + n.refused > 0);
}

function connectionText(unsent) {
  if (connection.state === "out") {
    return unsent
      ? ngettext("Sign in again; your {n} entry is safe on this phone", "Sign in again; your {n} entries are safe on this phone", unsent)
      : _("Sign in again");
  }
  if (connection.state === "away" || navigator.onLine === false) return _("no connection");
  return connection.state === "sending" && unsent ? _("sending …") : "";
}

async function renew() {
  const found = await fetchTrials();
  if (Array.isArray(found)) {
    app.trials = found;
    app.why = found.length ? "" : "none";
    const wanted = app.trial?.slug || (await kept.fact("trial"));
    app.trial = found.find((t) => t.slug === wanted) || found[0] || null;
  } else {
    app.why = found || "away";
    if (found === "out") connection.state = "out";
  }
}

async function startTrials() {
  app.trials = await knownTrials().catch(() => null);
  if (app.trials?.length) {
    const wanted = await kept.fact("trial");
    app.trial = app.trials.find((t) => t.slug === wanted) || app.trials[0];
    await show();
    await renew();
    drawState();
  } else {
    await show();
    await renew();
    await show();
  }
}

async function register() {
  if (!navigator.serviceWorker) return;
  const options = { scope: "/phone/", updateViaCache: "none" };
  const found = await navigator.serviceWorker
    .register("/phone/worker.js", { ...options, type: "module" })
    .catch(() => navigator.serviceWorker.register("/phone/worker.js?plain", options));
  const offer = () => {
    if (!found.waiting || !navigator.serviceWorker.controller) return;
    const load = () => {
      navigator.serviceWorker.addEventListener("controllerchange", () => location.reload(), { once: true });
      found.waiting?.postMessage("take over");
    };
    say(_("A new version of this page is here. Your entries stay as they are."), { actions: [button(_("Change over now"), load, "first")] });
  };
  offer();
  found.addEventListener("updatefound", () => {
    found.installing?.addEventListener("statechange", offer);
  });
  app.look = () => found.update().catch(() => {});
}

function listen() {
  window.addEventListener("hashchange", show);
  window.addEventListener("pagehide", () => { for (const stop of app.leave.splice(0)) stop(); });
  window.addEventListener("online", () => { drawState(); soon(); });
  window.addEventListener("offline", () => { connection.state = "away"; drawState(); });
  document.addEventListener("visibilitychange", async () => {
    if (document.visibilityState !== "visible") return;
    await send();
    app.look?.();
  });
  whenChanged(() => {
    drawState();
    if (["#entries", ""].includes(location.hash) && app.trial && !root.querySelector("form")) refreshList();
  });
  kept.whenNewer(() => say(_("A new version of this page is open beside this one."), { actions: [button(_("Change over now"), () => location.reload(), "first")] }));
}

function refreshList() {
  if (location.hash === "#entries") entriesPage(root, context());
}

async function start() {
  const chosen = await kept.fact("language").catch(() => null);
  await useLanguage(chosen || document.documentElement.lang || navigator.language);
  listen();
  await startTrials();
  usable();
  await register().catch(() => {});
  await tidy().catch(() => {});
  await send();
  if (connection.off_s && !clockLine().hidden) say(clockLine().textContent);
  if (connection.who && !(await kept.fact("who"))) await kept.setFact("who", connection.who).catch(() => {});
  if (connection.version && connection.version !== document.querySelector("meta[name=version]").content) app.look?.();
}

start().catch((error) => {
  say(_("This page cannot keep entries in this browser ({why}). Close private windows and try again.", { why: error?.name || error }), { wrong: true });
});
