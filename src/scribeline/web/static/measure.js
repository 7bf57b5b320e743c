// Measure: Enter and the big keys go from field to field; the server is only told what was typed.
const BIG = "scribeline:big-keys";
let last = null; // the field that was typed into last

const inputs = () => [...document.querySelectorAll("[data-path]")].filter((one) => one.offsetParent !== null);
const fieldAt = (path) => document.querySelector(`[data-path="${CSS.escape(path)}"]`)
  ?? document.querySelector(`[data-entry="${CSS.escape(path)}"] button`);

document.addEventListener("focusin", (event) => {
  if (event.target?.dataset?.path && event.target.closest(".bench-fields")) {
    last = event.target;
    dress(last);
  }
});

// What is being typed shows in the hand too: on a telephone the field itself may be behind the keys.
document.addEventListener("input", (event) => {
  const shown = document.querySelector(".hand-name .number");
  if (event.target?.dataset?.path && shown) shown.textContent = event.target.value || "empty";
});

document.addEventListener("keydown", (event) => {
  const field = event.target?.dataset?.path && event.target.tagName === "INPUT";
  if (event.key === "Enter" && field) event.shiftKey ? toHand() : next(event.target);
  if (event.key === "Escape" && event.target?.closest?.(".hand") && last?.isConnected) last.focus();
});

// On the way to the hand through other fields they would be taken up, so there is a way of its own; Escape leads back.
function toHand() {
  const free = stays();
  let tries = 0;
  const wait = setInterval(() => {
    const tools = document.querySelector(`.hand-tools[data-of="${CSS.escape(last.dataset.path)}"]`);
    if (tools || !free() || ++tries > 40) clearInterval(wait);
    if (free()) tools?.querySelector("button, input")?.focus();
  }, 50);
}

function next(from) {
  const all = inputs();
  const to = all[all.indexOf(from) + 1] ?? document.querySelector(".onwards .button-chief, .onwards a");
  if (to) setTimeout(() => { to.focus(); to.scrollIntoView({ block: "center" }); }, 0);
  else from.blur();
}

// The big keys: they never take the focus away from the field.
document.addEventListener("pointerdown", (event) => {
  if (event.target?.closest?.("[data-key]")) event.preventDefault();
});
document.addEventListener("click", (event) => {
  const key = event.target?.closest?.("[data-key]");
  if (key) press(key.dataset.key);
  if (event.target?.closest?.("[data-big-keys]")) setBig(!isBig());
});

function press(key) {
  const field = last?.isConnected ? last : inputs()[0];
  if (!field) return;
  if (document.activeElement !== field) field.focus();
  if (key === "Next") return next(field);
  const start = field.selectionStart ?? field.value.length;
  const end = field.selectionEnd ?? field.value.length;
  const from = key === "⌫" && start === end ? Math.max(0, start - 1) : start;
  const typed = key === "⌫" ? "" : key;
  const value = field.value.slice(0, from) + typed + field.value.slice(end);
  const proto = field.tagName === "TEXTAREA" ? HTMLTextAreaElement.prototype : HTMLInputElement.prototype;
  Object.getOwnPropertyDescriptor(proto, "value").set.call(field, value);
  field.setSelectionRange(from + typed.length, from + typed.length);
  field.dispatchEvent(new Event("input", { bubbles: true }));
  changed.add(field);
}

// A value that keys typed is changed for the server too, once the field is left.
const changed = new Set();
document.addEventListener("focusout", (event) => {
  if (changed.delete(event.target)) event.target.dispatchEvent(new Event("change", { bubbles: true }));
});

function isBig() {
  try {
    return localStorage.getItem(BIG) === "on";
  } catch {
    return false;
  }
}

function setBig(on) {
  try {
    localStorage.setItem(BIG, on ? "on" : "off");
  } catch {
    // kept for this page only
  }
  show(on);
}

function show(on) {
  document.body.classList.toggle("big-keys", on);
  for (const one of document.querySelectorAll("[data-big-keys]")) one.setAttribute("aria-pressed", on);
  if (last) dress(last);
}

// With big keys the telephone's own keyboard stays away.
function dress(field) {
  field.dataset.mode ??= field.getAttribute("inputmode") ?? "text";
  field.setAttribute("inputmode", document.body.classList.contains("big-keys") ? "none" : field.dataset.mode);
}

let wanted = 0; // when a field was asked for: the heading of its station does not take the focus from it then

// Whether the person has gone on to something else since `stays` was made: then nothing takes the focus from them.
let done = 0;
for (const kind of ["pointerdown", "keydown"]) document.addEventListener(kind, () => done++, true);

function stays() {
  const [before, from] = [done, document.activeElement];
  return () => done === before && [from, document.body, null].includes(document.activeElement);
}

function focus(path) {
  wanted = Date.now();
  const free = stays();
  let tries = 0;
  const wait = setInterval(() => {
    const found = fieldAt(path);
    if (found || !free() || ++tries > 40) clearInterval(wait);
    if (!found || !free()) return;
    for (let one = found.closest("details"); one; one = one.parentElement?.closest("details")) one.open = true;
    found.focus();
    found.scrollIntoView({ block: "center" });
  }, 50);
}

function arrived(key, address = null) {
  if (address) history.replaceState(null, "", address);
  const free = stays();
  const came = address !== null; // by a press; a page that has just come up begins at its top
  setTimeout(() => {
    const button = document.querySelector(`[data-station="${CSS.escape(key)}"]`);
    const strip = button?.closest(".stations");
    if (strip) strip.scrollLeft = button.offsetLeft - (strip.clientWidth - button.clientWidth) / 2;
    if (!came || Date.now() - wanted < 2000) return;
    const heading = document.querySelector(".station-head h2");
    if (free() && !document.activeElement?.dataset?.path) heading?.focus({ preventScroll: true });
    const top = document.querySelector(".bench")?.getBoundingClientRect().top ?? 0;
    if (top < 0) document.querySelector(".bench").scrollIntoView();
  }, 60);
}

// How much of the drawing is one pixel of the screen: what is lit is lettered by it.
function letter() {
  for (const svg of document.querySelectorAll(".bench-side figure.drawn svg")) {
    const unit = `${1 / (svg.getScreenCTM()?.a || 1)}px`;
    if (svg.style.getPropertyValue("--unit") !== unit) svg.style.setProperty("--unit", unit);
  }
}
new MutationObserver(letter).observe(document.documentElement, { childList: true, subtree: true });
window.addEventListener("resize", letter);

window.scribelineMeasure = { focus, arrived };
const begin = setInterval(() => {
  if (!document.querySelector("[data-big-keys]")) return;
  clearInterval(begin);
  show(isBig());
  arrived(document.querySelector('.stations [aria-current="true"]')?.dataset.station ?? "");
}, 100);
