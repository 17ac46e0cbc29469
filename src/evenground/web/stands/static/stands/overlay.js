// A tap on the overlay becomes a line of the corrections: its place in pixels of the photograph.

const overlay = document.getElementById("overlay");
const changes = document.getElementById("changes");
const ruler = Number(overlay.dataset.ruler);
const scale = Number(overlay.dataset.scale);

overlay.addEventListener("click", (event) => {
  const shown = overlay.naturalWidth / overlay.clientWidth;
  const x = (event.offsetX * shown - ruler) / scale;
  const y = (event.offsetY * shown - ruler) / scale;
  if (x < 0 || y < 0) return;
  const action = document.querySelector('input[name="tap"]:checked').value;
  const line = `${action} ${Math.round(x)} ${Math.round(y)}`;
  changes.value = changes.value ? `${changes.value.trimEnd()}\n${line}` : line;
  const ring = document.createElement("span");
  ring.className = "mark";
  ring.style.left = `${event.offsetX}px`;
  ring.style.top = `${event.offsetY}px`;
  overlay.parentElement.append(ring);
});
