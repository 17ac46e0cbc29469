// What the farm has told this phone: trials, strips, methods, and which kinds of record may be entered.

import * as kept from "./kept.js";

const PATIENCE_MS = 30_000;

// Ask the farm for its trials and keep them; null where it does not answer, "out" where one must sign in.
export async function fetchTrials() {
  try {
    const options = { credentials: "same-origin", cache: "no-store", signal: AbortSignal.timeout(PATIENCE_MS) };
    const answer = await fetch("/phone/api/trials/", options);
    if (answer.status === 401) return "out";
    if (!answer.ok) return null;
    const trials = (await answer.json()).trials.map(orderly);
    await kept.setFact("trials", trials);
    return trials;
  } catch {
    return null;
  }
}

export const knownTrials = () => kept.fact("trials", null);

// One form for what the screens use, whatever is missing.
function orderly(trial) {
  return {
    slug: trial.slug,
    name: trial.name,
    season: trial.season,
    kinds: trial.kinds || null,
    // A driver or a weighbridge that came by a link for one day: no notes, only what the day is about.
    day: Boolean(trial.kinds?.length) && !trial.kinds.includes("stand_counts"),
    methods: trial.methods || [],
    strips: [...(trial.strips || [])].sort((a, b) => a.strip - b.strip),
    trailers: trial.trailers || [],
    scales: trial.scales || [],
    loads: trial.loads || [],
    counted: trial.counted || [],
  };
}

// Row units of the planter that sows a strip; the number, not the method, is used where scores are taken.
export function rowUnits(trial, strip) {
  const found = trial.strips.find((s) => s.strip === Number(strip));
  const method = found && trial.methods.find((m) => m.letter === found.method);
  const most = Math.max(0, ...trial.methods.map((m) => m.rows_per_pass || 0));
  return method?.rows_per_pass || most || 12;
}

export function mayEnter(trial, kind) {
  return !trial.kinds || trial.kinds.includes(kind);
}
