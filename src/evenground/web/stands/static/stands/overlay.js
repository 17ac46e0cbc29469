// A tap on the overlay becomes a line of the corrections: its place in pixels of the photograph.

import { ring, zoomed } from "./zoom.js";

const overlay = document.getElementById("overlay");
const changes = document.getElementById("changes");
const back = document.getElementById("back");
const ruler = Number(overlay.dataset.ruler);
const scale = Number(overlay.dataset.scale);
const sheet = zoomed(overlay);
const taps = []; // {line, mark} of the taps since the last look

overlay.addEventListener("click", (event) => {
  const shown = overlay.naturalWidth / overlay.clientWidth;
  const x = (event.offsetX * shown - ruler) / scale;
  const y = (event.offsetY * shown - ruler) / scale;
  if (x < 0 || y < 0) return;
  const action = document.querySelector('input[name="tap"]:checked').value;
  const line = `${action} ${Math.round(x)} ${Math.round(y)}`;
  changes.value = changes.value ? `${changes.value.trimEnd()}\n${line}` : line;
  const mark = ring(sheet, event.offsetX / overlay.clientWidth, event.offsetY / overlay.clientHeight);
  mark.classList.add(action);
  taps.push({ line, mark });
  back.disabled = false;
});

back.addEventListener("click", () => {
  const { line, mark } = taps.pop();
  mark.remove();
  const lines = changes.value.trimEnd().split("\n");
  const at = lines.lastIndexOf(line); // somebody may have changed the lines by hand
  if (at >= 0) lines.splice(at, 1);
  changes.value = lines.join("\n");
  back.disabled = taps.length === 0;
});

back.hidden = false;
