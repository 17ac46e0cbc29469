// Asks how far work beside the page is, shows it, and goes on when it has ended: a draw is stored, a search is shown.
const bar = document.querySelector("progress[data-state]");
const words = document.querySelector("[data-words]");
const whenDone = document.querySelector("form[data-when-done]");

function say(text) {
  if (words && words.textContent !== text) words.textContent = text;
}

function show(step, total) {
  if (step < total) {
    bar.max = total;
    bar.value = step;
    say(`${step} / ${total}`);
  } else {
    bar.removeAttribute("value");
    say(bar.dataset.last || "");
  }
}

async function look() {
  try {
    const answer = await fetch(bar.dataset.state, { headers: { accept: "application/json" } });
    const said = await answer.json();
    if (said.state === "done" && whenDone) {
      whenDone.submit();
      return;
    }
    if (said.state !== "running") {
      location.replace(location.href);
      return;
    }
    if (said.total) show(said.step, said.total);
  } catch {
    say("…");
  }
  setTimeout(look, 700);
}

if (bar) look();
