// Sends what waits, again and again until the farm has said that it is there. Sending twice does no harm.

import * as kept from "./kept.js";
import { changed, clockOff, deviceId, withClock } from "./entries.js";

const BATCH = 50;
const FIRST_WAIT_MS = 4_000;
const LONGEST_WAIT_MS = 300_000;
const PATIENCE_MS = 30_000;

let wait = FIRST_WAIT_MS;
let timer = null;
let under_way = null;

// What is known of the connection, for the screen: unknown, sending, away (no farm), out (sign in again), home.
export const connection = { state: "unknown", off_s: 0 };

async function ask(url, options = {}) {
  return fetch(url, { credentials: "same-origin", cache: "no-store", signal: AbortSignal.timeout(PATIENCE_MS), ...options });
}

// Whether the farm answers, who is signed in there and how far the clocks are apart.
export async function here() {
  const before = Date.now();
  const answer = await ask("/phone/here/");
  if (!answer.ok) throw new Error(`the farm answered ${answer.status}`);
  const said = await answer.json();
  const middle = (before + Date.now()) / 2;
  connection.off_s = Math.round((new Date(said.now).getTime() - middle) / 1000);
  await kept.setFact("clock_off_s", clockOff(connection.off_s) ? connection.off_s : 0).catch(() => {});
  return said;
}

// Send everything that waits. Resolves to what is known of the connection afterwards.
export function send() {
  under_way ??= locked(sendAll).finally(() => { under_way = null; });
  return under_way;
}

// One window at a time where the browser can see to it; without that, the farm still takes every entry once.
function locked(work) {
  return globalThis.navigator?.locks ? navigator.locks.request("evenground-sending", work) : work();
}

async function sendAll() {
  clearTimeout(timer);
  const [entries, photos] = [await kept.waiting(), await waitingPhotos()];
  try {
    connection.state = "sending";
    const said = await here();
    connection.version = said.version;
    connection.who = said.who;
    if (!said.signed_in) connection.state = "out";
    else {
      await sendEntries(entries, said.token);
      if (connection.state !== "out") await sendPhotos(photos, said.token);
      if (connection.state === "sending") connection.state = "home";
    }
    wait = connection.state === "out" ? LONGEST_WAIT_MS : FIRST_WAIT_MS;
  } catch {
    connection.state = "away";
  }
  if ((await kept.waiting()).length || (await waitingPhotos()).length) again();
  else wait = FIRST_WAIT_MS;
  changed();
  return connection.state;
}

async function waitingPhotos() {
  return (await kept.every("photos")).filter((p) => p.state === "waiting");
}

// Wait longer each time, and not in step with the other phones.
function again() {
  clearTimeout(timer);
  timer = setTimeout(() => send(), wait * (0.75 + Math.random() / 2));
  wait = Math.min(wait * 2, LONGEST_WAIT_MS);
}

async function sendEntries(entries, token) {
  entries.sort((a, b) => a.order - b.order);
  for (const trial of new Set(entries.map((e) => e.trial))) {
    const mine = entries.filter((e) => e.trial === trial);
    for (let start = 0; start < mine.length && connection.state === "sending"; start += BATCH) {
      await sendBatch(trial, mine.slice(start, start + BATCH), token);
    }
  }
}

async function sendBatch(trial, batch, token) {
  const ready = batch.map((entry) => ({ ...withClock(entry, connection.off_s), sent: true }));
  // What is sent is on the phone in exactly that form first: a second sending is then the same.
  await kept.put("entries", ...ready);
  const body = JSON.stringify({ trial, device: await deviceId(), entries: ready.map(({ kind, id, fields }) => ({ kind, id, fields })) });
  const answer = await ask("/phone/api/entries/", {
    method: "POST",
    headers: { "Content-Type": "application/json", "X-CSRFToken": token },
    body,
  });
  if (answer.status === 401) connection.state = "out";
  else if ([400, 413].includes(answer.status) && batch.length > 1) {
    // One of them cannot be taken; the others need not wait for it.
    const half = Math.ceil(batch.length / 2);
    await sendBatch(trial, ready.slice(0, half), token);
    await sendBatch(trial, ready.slice(half), token);
  } else if ([400, 404, 413].includes(answer.status)) {
    await refused(ready.map((e) => e.id), { 400: "unreadable", 404: "no trial", 413: "too large" }[answer.status]);
  } else if (!answer.ok) throw new Error(`the farm answered ${answer.status}`);
  else await settle((await answer.json()).results);
}

async function settle(results) {
  const told = new Map(results.map((r) => [r.id, r]));
  await kept.mend([...told.keys()], (entry) => {
    const { state, problems = [] } = told.get(entry.id);
    return ["stored", "already", "held", "refused"].includes(state) ? { ...entry, state, problems } : entry;
  });
  changed();
}

async function refused(ids, why) {
  await kept.mend(ids, (entry) => ({ ...entry, state: "refused", problems: [{ message: why }] }));
  changed();
}

async function sendPhotos(photos, token) {
  for (const photo of photos) {
    const form = new FormData();
    form.set("id", photo.id);
    form.set("trial", photo.trial);
    if (photo.strip !== null) form.set("strip", String(photo.strip));
    form.set("file", photo.blob, `${photo.id}.jpg`);
    const answer = await ask("/phone/api/photos/", { method: "POST", headers: { "X-CSRFToken": token }, body: form });
    if (answer.status === 401) { connection.state = "out"; return; }
    if ([400, 403, 404, 413, 415].includes(answer.status)) await kept.put("photos", { ...photo, state: "refused" });
    else if (!answer.ok) throw new Error(`the farm answered ${answer.status}`);
    else await kept.put("photos", { ...photo, state: "stored" });
  }
}

// Send an entry that the phone has no room to keep straight to the farm. Resolves to what the farm said of it.
export async function sendStraight(trial, entries) {
  const said = await here();
  const body = JSON.stringify({ trial, device: "phone without room", entries });
  const answer = await ask("/phone/api/entries/", {
    method: "POST",
    headers: { "Content-Type": "application/json", "X-CSRFToken": said.token },
    body,
  });
  if (!answer.ok) throw new Error(`the farm answered ${answer.status}`);
  return (await answer.json()).results;
}

// Entries that were not taken wait once more.
export async function tryAgain() {
  const back = (await kept.every("entries")).filter((e) => e.state === "refused");
  await kept.mend(back.map((e) => e.id), (entry) => ({ ...entry, state: "waiting", problems: [] }));
  return soon();
}

// Send now, and ask the browser to do it later where it can, should the page be closed.
export async function soon() {
  wait = FIRST_WAIT_MS;
  askBrowser().catch(() => {});
  return send();
}

async function askBrowser() {
  const registration = await navigator.serviceWorker?.ready;
  await registration?.sync?.register("send");
}
