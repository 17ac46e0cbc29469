// Sends a large archive piece by piece, so that one can see how far it is, and a lost connection loses one piece only.
const SMALL = 2_000_000; // goes with the form, as without this script
const PATIENCE_MS = [500, 1000, 2000, 4000, 8000, 16000];

const pause = (ms) => new Promise((go) => setTimeout(go, ms));

async function post(form, address, body) {
  const token = form.elements.csrfmiddlewaretoken.value;
  const headers = { "X-CSRFToken": token, "Content-Type": "application/octet-stream" };
  if (body instanceof URLSearchParams) delete headers["Content-Type"];
  return fetch(address, { method: "POST", headers, body });
}

async function piece(form, address, body) {
  for (const wait of PATIENCE_MS) {
    try {
      const answer = await post(form, address, body);
      if (answer.ok) return (await answer.json()).size;
      if (answer.status < 500) return null;
    } catch {
      // no connection; the same piece once more
    }
    await pause(wait);
  }
  return null;
}

async function send(form, file) {
  const shown = form.querySelector("[data-sending]");
  const bar = shown.querySelector("progress");
  const words = shown.querySelector("[data-words]");
  const button = form.querySelector("button");
  const fail = (text) => {
    words.textContent = text;
    button.disabled = false;
    bar.hidden = true;
  };
  button.disabled = true;
  bar.hidden = shown.hidden = false;
  bar.max = file.size;
  const begun = await post(form, "/backup/pieces/", new URLSearchParams({ size: file.size })).catch(() => null);
  if (!begun) return fail(shown.dataset.lost);
  const said = await begun.json();
  if (!begun.ok) return fail(said.problems.join(" "));
  for (let at = 0; at < file.size; ) {
    const now = await piece(form, `/backup/pieces/${said.token}/${at}/`, file.slice(at, at + said.piece));
    if (now === null || now <= at) return fail(shown.dataset.lost);
    bar.value = at = now;
    words.textContent = `${Math.floor((100 * at) / file.size)} %`;
  }
  const kept = document.createElement("input");
  kept.type = "hidden";
  kept.name = "kept";
  kept.value = said.token;
  form.append(kept);
  form.elements.file.disabled = true;
  return form.submit();
}

for (const form of document.querySelectorAll("form[data-in-pieces]")) {
  form.addEventListener("submit", (event) => {
    const file = form.elements.file.files[0];
    if (!file || file.size <= SMALL) return;
    event.preventDefault();
    send(form, file);
  });
}
