// The last resort: entries as a file, which any phone or computer that is signed in can bring to the farm.

import * as kept from "./kept.js";
import { ON_THE_FARM, changed, clock, newId } from "./entries.js";
import { el } from "./parts.js";
import { _ } from "./words.js";

const KIND_OF_FILE = "evenground entries 1";

export async function saveAsFile(trials, name) {
  const said = { file: KIND_OF_FILE, device: await kept.fact("device", ""), saved: clock(), trials };
  const url = URL.createObjectURL(new Blob([JSON.stringify(said, null, 1)], { type: "application/json" }));
  const link = el("a", { href: url, download: `evenground-${name}-${clock().slice(0, 10)}.json` });
  document.body.append(link);
  link.click();
  link.remove();
  setTimeout(() => URL.revokeObjectURL(url), 60_000);
}

// Everything the farm has not acknowledged.
export async function saveUnsent() {
  const unsent = (await kept.every("entries")).filter((e) => !ON_THE_FARM.includes(e.state)).sort((a, b) => a.order - b.order);
  const trials = [...new Set(unsent.map((e) => e.trial))].map((trial) => ({
    trial,
    entries: unsent.filter((e) => e.trial === trial).map(({ kind, id, fields }) => ({ kind, id, fields })),
  }));
  await saveAsFile(trials, "unsent");
  return unsent.length;
}

// Bring such a file in: its entries wait here as if they had been made here; ids already here are left alone.
export async function bringIn(text) {
  let said;
  try {
    said = JSON.parse(text);
  } catch {
    throw new Error(_("This is not a file of entries."));
  }
  const good = (e) => e && typeof e.id === "string" && typeof e.kind === "string" && e.fields && typeof e.fields === "object";
  if (said?.file !== KIND_OF_FILE || !Array.isArray(said.trials) || !said.trials.every((t) => typeof t.trial === "string" && Array.isArray(t.entries) && t.entries.every(good))) {
    throw new Error(_("This is not a file of entries."));
  }
  const known = new Set((await kept.every("entries")).map((e) => e.id));
  const start = Date.now() * 100;
  const every = said.trials.flatMap((t) => t.entries.map((e) => ({ ...e, trial: t.trial })));
  const fresh = every.filter((e) => !known.has(e.id)).map(({ kind, id, fields, trial }, index) => ({
    id, kind, trial, fields,
    device: said.device || newId(), by_clock: false, state: "waiting", problems: [], photo: false,
    made: clock(), order: start + index, form: kept.FORM,
  }));
  await kept.keepEntries(fresh);
  changed();
  return { fresh: fresh.length, known: every.length - fresh.length };
}
