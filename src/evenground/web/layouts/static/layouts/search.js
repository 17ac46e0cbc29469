// Asks how far the search is, shows it, and loads the page anew when it is done.
const bar = document.querySelector("progress[data-state]");
const words = document.querySelector("[data-words]");

async function look() {
  try {
    const answer = await fetch(bar.dataset.state, { headers: { accept: "application/json" } });
    const said = await answer.json();
    if (said.state !== "running") {
      location.reload();
      return;
    }
    if (said.total) {
      bar.max = said.total;
      bar.value = said.step;
      words.textContent = `${said.step} / ${said.total}`;
    }
  } catch {
    words.textContent = "…";
  }
  setTimeout(look, 700);
}

if (bar) look();
