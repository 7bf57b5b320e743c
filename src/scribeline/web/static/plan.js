// What is unfolded stays so over a reload; kept by this browser alone, as it is nobody else's business.
const KEY = `scribeline:folds:${location.pathname}`;

function kept() {
  try {
    return new Set(JSON.parse(localStorage.getItem(KEY) ?? "[]"));
  } catch {
    return new Set();
  }
}

const open = kept();

document.addEventListener(
  "toggle",
  (event) => {
    const name = event.target.dataset?.fold;
    if (!name) return;
    if (event.target.open) open.add(name);
    else open.delete(name);
    try {
      localStorage.setItem(KEY, JSON.stringify([...open]));
    } catch {
      // no room or no permission: then it is folded at the next load
    }
  },
  true,
);

function unfold() {
  for (const one of document.querySelectorAll("details[data-fold]:not([data-seen])")) {
    one.dataset.seen = "";
    if (open.has(one.dataset.fold)) one.open = true;
  }
}

new MutationObserver(unfold).observe(document.body, { childList: true, subtree: true });
unfold();

// The framework's slider names its outer element, but it is the inner one that takes the focus: what is said of a slider
// belongs where the keyboard is.
const SAID = ["aria-label", "aria-valuenow", "aria-valuemin", "aria-valuemax", "aria-orientation"];

function say(slider) {
  const inner = slider.querySelector(".q-slider__track-container[tabindex]");
  if (!inner) return;
  for (const name of SAID.filter((one) => slider.hasAttribute(one))) {
    inner.setAttribute(name, slider.getAttribute(name));
    slider.removeAttribute(name);
  }
  if (slider.getAttribute("role") === "slider") {
    inner.setAttribute("role", "slider");
    slider.setAttribute("role", "presentation");
  }
  const { unit, per } = slider.dataset; // its own numbers are in mm, also for whoever reads inches
  if (unit) inner.ariaValueText = `${Number((inner.ariaValueNow / per).toFixed(4))} ${unit}`;
}

const sayAll = () => document.querySelectorAll(".q-slider").forEach(say);
new MutationObserver(sayAll).observe(document.body, {
  childList: true,
  subtree: true,
  attributes: true,
  attributeFilter: ["role", ...SAID],
});
sayAll();
