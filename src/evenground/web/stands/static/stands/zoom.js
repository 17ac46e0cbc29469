// A photograph can be drawn larger, so that a finger hits one plant of a row on a small screen. What was in the middle
// stays in the middle; rings lie on the sheet in shares of it and grow apart with it. The size outlives a second look.

const STEPS = [1, 1.5, 2, 3, 4, 6, 8];

export function ring(sheet, across, down) {
  const one = document.createElement("span");
  one.className = "mark";
  // A script may move an element: the policy forbids style in the text of a page, not here.
  one.style.left = `${100 * across}%`;
  one.style.top = `${100 * down}%`;
  sheet.append(one);
  return one;
}

function kept(key) {
  try {
    return JSON.parse(sessionStorage.getItem(key)) ?? {};
  } catch {
    return {};
  }
}

function keep(key, what) {
  try {
    sessionStorage.setItem(key, JSON.stringify(what));
  } catch {
    // A device without room only forgets the size.
  }
}

export function zoomed(image) {
  const sheet = image.parentElement;
  const view = sheet.parentElement;
  const [smaller, larger] = ["smaller", "larger"].map((id) => document.getElementById(id));
  const said = document.getElementById("size");
  const key = `evenground-zoom ${window.location.pathname}`;
  let step = 0;

  function middle() {
    return { across: (view.scrollLeft + view.clientWidth / 2) / sheet.clientWidth, down: (view.scrollTop + view.clientHeight / 2) / sheet.clientHeight };
  }

  function show(next, { across, down }) {
    step = Math.max(0, Math.min(STEPS.length - 1, next));
    sheet.style.width = `${100 * STEPS[step]}%`;
    view.scrollLeft = across * sheet.clientWidth - view.clientWidth / 2;
    view.scrollTop = down * sheet.clientHeight - view.clientHeight / 2;
    smaller.disabled = step === 0;
    larger.disabled = step === STEPS.length - 1;
    said.textContent = `${100 * STEPS[step]} %`;
  }

  const remember = () => keep(key, { step, ...middle() });
  larger.addEventListener("click", () => show(step + 1, middle()));
  smaller.addEventListener("click", () => show(step - 1, middle()));
  window.addEventListener("pagehide", remember);
  document.getElementById("zoom").hidden = false;
  const begin = () => {
    const { step: last = 0, across = 0.5, down = 0.5 } = kept(key);
    show(last, { across, down });
  };
  if (image.complete && image.naturalWidth) begin();
  else image.addEventListener("load", begin, { once: true });
  return sheet;
}
