// Keeps the harvest page up to date while the day goes on. Only the part that nobody types in is replaced.

const EVERY_MS = 8000;
const live = document.getElementById("live");
const freshness = document.getElementById("freshness");

function clock() {
  return new Date().toLocaleTimeString(document.documentElement.lang, { hour: "2-digit", minute: "2-digit" });
}

function say(label, when) {
  freshness.textContent = `${label} ${when}`;
}

// Tables stay where they were scrolled to, and what was opened stays open.
function replace(part, html) {
  const left = [...part.querySelectorAll(".scroll")].map((table) => table.scrollLeft);
  const opened = [...part.querySelectorAll("details[open]")].map((one) => one.id);
  part.innerHTML = html;
  opened.forEach((id) => document.getElementById(id)?.setAttribute("open", ""));
  part.querySelectorAll(".scroll").forEach((table, i) => { table.scrollLeft = left[i] ?? 0; });
}

let last = clock();

async function look() {
  const version = live.dataset.version;
  try {
    const answer = await fetch(`${live.dataset.source}?version=${encodeURIComponent(version)}`, {
      headers: { Accept: "application/json" },
    });
    if (!answer.ok) throw new Error(String(answer.status));
    const news = await answer.json();
    last = clock();
    say(freshness.dataset.label, last);
    // Whoever stands on a link in a table keeps it until they move on.
    if (news.pieces && !live.contains(document.activeElement)) {
      for (const [name, html] of Object.entries(news.pieces)) replace(document.getElementById(name), html);
      live.dataset.version = news.version;
    }
  } catch {
    say(freshness.dataset.lost, last);
  }
}

async function again() {
  if (!document.hidden) await look();
  setTimeout(again, EVERY_MS);
}

document.addEventListener("visibilitychange", () => { if (!document.hidden) look(); });
say(freshness.dataset.label, last);
setTimeout(again, EVERY_MS);
