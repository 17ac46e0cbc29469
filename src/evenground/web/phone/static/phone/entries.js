// Entries: made here with an id of their own, kept until the farm has them, followed by corrections, never changed.

import * as kept from "./kept.js";
import { _ } from "./words.js";

export const ON_THE_FARM = ["stored", "already", "held"];
const DAYS_SHOWN = 60;
const CLOCK_TOLERANCE_S = 120;

const listeners = new Set();

// Told after every change of what is kept here, in any window of this phone.
export function whenChanged(call) {
  listeners.add(call);
  return () => listeners.delete(call);
}

const others = "BroadcastChannel" in globalThis ? new BroadcastChannel("evenground-entries") : null;
if (others) others.onmessage = () => listeners.forEach((call) => call());

export function changed() {
  listeners.forEach((call) => call());
  others?.postMessage("changed");
}

// An id made here; randomUUID exists on https and on this machine, getRandomValues everywhere.
export function newId() {
  if (crypto.randomUUID) return crypto.randomUUID();
  return Array.from(crypto.getRandomValues(new Uint8Array(16)), (b) => b.toString(16).padStart(2, "0")).join("");
}

// The clock of this phone, as the records of a trial write it: local, without an offset.
export function clock(at = new Date()) {
  const two = (n) => String(n).padStart(2, "0");
  const day = `${at.getFullYear()}-${two(at.getMonth() + 1)}-${two(at.getDate())}`;
  return `${day}T${two(at.getHours())}:${two(at.getMinutes())}:${two(at.getSeconds())}`;
}

export function clockOff(off_s) {
  return Math.abs(off_s || 0) > CLOCK_TOLERANCE_S;
}

// Said in the note in plain English whatever the language, because it goes into the trial's records.
function clockNote(off_s) {
  const minutes = Math.round(Math.abs(off_s) / 60);
  return `[phone clock ${minutes} min ${off_s > 0 ? "behind" : "ahead of"} the farm's]`;
}

// The note with what is known of the clock; done before an entry is first sent and never after.
export function withClock(entry, off_s) {
  if (entry.sent || entry.clock_said || !entry.by_clock) return entry;
  if (!clockOff(off_s)) return { ...entry, clock_said: true };
  const note = [entry.fields.note, clockNote(off_s)].filter(Boolean).join(" ").slice(-600);
  return { ...entry, clock_said: true, fields: { ...entry.fields, note } };
}

// Keep what a form gave. Rejects where the phone could not write it: then nothing is kept and the screen must say so.
export async function keep(trial, made, { photo = null, draft = null } = {}) {
  const [who, device] = [await kept.fact("who", ""), await deviceId()];
  const start = Date.now() * 100;
  const entries = made.map(({ kind, id, fields, typed_time = false }, index) => ({
    id: id || newId(),
    kind,
    trial,
    device,
    fields: { time: clock(), ...(who ? { who } : {}), ...fields },
    by_clock: !typed_time,
    state: "waiting",
    problems: [],
    photo: Boolean(photo) && index === 0,
    made: clock(),
    order: start + index,
    form: kept.FORM,
  }));
  if (photo) photo = { id: entries[0].id, trial, blob: photo, strip: entries[0].fields.strips?.[0] ?? null, state: "waiting" };
  await kept.keepEntries(entries, photo, draft);
  navigator.storage?.persist?.().catch(() => {});
  changed();
  return entries;
}

export async function deviceId() {
  const known = await kept.fact("device");
  if (known) return known;
  const made = `phone-${newId().slice(0, 8)}`;
  await kept.setFact("device", made);
  return made;
}

export async function all(trial) {
  const found = await kept.every("entries");
  return found.filter((e) => !trial || e.trial === trial).sort((a, b) => b.order - a.order);
}

export async function counts() {
  const found = await kept.every("entries");
  const photos = await kept.every("photos");
  const waiting = found.filter((e) => e.state === "waiting").length;
  const refused = found.filter((e) => e.state === "refused").length;
  const held = current(found).filter((e) => e.state === "held").length;
  const farm = found.filter((e) => ON_THE_FARM.includes(e.state)).length;
  return { waiting, refused, held, farm, photos: photos.filter((p) => p.state === "waiting").length };
}

export function stateText(entry) {
  return {
    waiting: _("on this phone"),
    stored: _("on the farm"),
    already: _("on the farm"),
    held: _("on the farm, needs a look"),
    refused: _("not taken, still on this phone"),
  }[entry.state];
}

// The entries that count: those that no later one replaces.
export function current(entries) {
  const gone = new Set(entries.map((e) => e.fields.replaces).filter(Boolean));
  for (const e of entries) if (e.mends) gone.add(e.mends);
  return entries.filter((e) => !gone.has(e.id));
}

// Entries the farm has had for a while need not fill the phone.
export async function tidy(now = Date.now()) {
  const old = (await kept.every("entries")).filter(
    (e) => ON_THE_FARM.includes(e.state) && now - new Date(e.made).getTime() > DAYS_SHOWN * 86_400_000,
  );
  const sent = (await kept.every("photos")).filter((p) => p.state === "stored");
  if (old.length) await kept.remove("entries", ...old.map((e) => e.id));
  if (sent.length) await kept.remove("photos", ...sent.map((p) => p.id));
}
