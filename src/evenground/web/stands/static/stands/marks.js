// Two taps in the photograph are the two ends of the stick; their places go into the fields, in pixels of the photograph.

const photo = document.getElementById("photo");
const hint = document.getElementById("hint");
const fields = ["x1", "y1", "x2", "y2"].map((id) => document.getElementById(id));
let next = 0;

// A script may move an element: the policy forbids style in the text of a page, not here.
function ring(x, y) {
  const one = document.createElement("span");
  one.className = "mark";
  one.style.left = `${x}px`;
  one.style.top = `${y}px`;
  photo.parentElement.append(one);
}

photo.addEventListener("click", (event) => {
  if (next === 0) photo.parentElement.querySelectorAll(".mark").forEach((one) => one.remove());
  const scale = photo.naturalWidth / photo.clientWidth;
  fields[2 * next].value = Math.round(event.offsetX * scale);
  fields[2 * next + 1].value = Math.round(event.offsetY * scale);
  ring(event.offsetX, event.offsetY);
  next = (next + 1) % 2;
  hint.textContent = next === 0 ? hint.dataset.done : hint.dataset.second;
});
