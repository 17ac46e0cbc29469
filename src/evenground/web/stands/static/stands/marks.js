// Two taps in the photograph are the two ends of the stick; their places go into the fields, in pixels of the photograph.

import { ring, zoomed } from "./zoom.js";

const photo = document.getElementById("photo");
const hint = document.getElementById("hint");
const fields = ["x1", "y1", "x2", "y2"].map((id) => document.getElementById(id));
const sheet = zoomed(photo);
let next = 0;

photo.addEventListener("click", (event) => {
  if (next === 0) sheet.querySelectorAll(".mark").forEach((one) => one.remove());
  const scale = photo.naturalWidth / photo.clientWidth;
  fields[2 * next].value = Math.round(event.offsetX * scale);
  fields[2 * next + 1].value = Math.round(event.offsetY * scale);
  ring(sheet, event.offsetX / photo.clientWidth, event.offsetY / photo.clientHeight);
  next = (next + 1) % 2;
  hint.textContent = next === 0 ? hint.dataset.done : hint.dataset.second;
});
