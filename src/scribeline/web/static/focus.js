// Where the keyboard is must never be nowhere. What has the focus may be drawn anew, taken away, hidden or switched off by
// the answer to the very key that was pressed on it; then its likeness gets the focus, or what stands nearest to its place.
const WAIT_MS = 400; // judgement: a part that is taken away and built anew comes in one answer, or in two close ones
const RELOAD_MS = 10000;
const PAST = 8;
const PLACE = `scribeline:focus:${location.pathname}`;
const STOPS = "a[href], button, input, select, textarea, summary, [tabindex]";

let last = null; // what has the focus, as `noted`
const past = []; // what had it before, the latest first
let lostAt = 0;
let timer = 0;

const nowhere = () => [document.body, document.documentElement, null].includes(document.activeElement);
const canHave = (one) => one.isConnected && !one.disabled && one.tabIndex >= -1 && one.checkVisibility({ visibilityProperty: true })
  && !one.closest("[inert], [aria-hidden='true']");
const stops = (inside) => [...inside.querySelectorAll(STOPS)].filter((one) => one.tabIndex >= 0 && canHave(one));
const words = (one) => (one.dataset?.path || one.dataset?.focus || one.getAttribute("aria-label") || one.labels?.[0]?.textContent
  || one.getAttribute("href") || one.textContent || "").trim().slice(0, 200);

// What a likeness is known by, and the elements around it from the nearest on.
function noted(one) {
  const around = [];
  for (let each = one.parentElement; each; each = each.parentElement) around.push(each);
  const alike = likenesses(one.tagName, words(one), document);
  const keys = one.matches(":focus-visible");
  return { one, tag: one.tagName, words: words(one), number: alike.indexOf(one), around, keys };
}

function likenesses(tag, said, inside) {
  return [...inside.querySelectorAll(tag)].filter((one) => one.matches(STOPS) && words(one) === said);
}

function likeness(was) {
  if (!was.words) return null;
  const all = likenesses(was.tag, was.words, document).filter(canHave);
  return all[Math.min(Math.max(was.number, 0), all.length - 1)] ?? null;
}

// The next thing to come to in the nearest surroundings that still stand; in a dialog nothing outside of it.
function nearest(was) {
  const open = [...document.querySelectorAll(".q-dialog [role=alert], .q-dialog .panel")].at(-1);
  for (const inside of was.around) {
    if (!inside.isConnected || inside === document.body || inside.id === "app" || !inside.checkVisibility()) continue;
    if (open && !inside.contains(open) && !open.contains(inside)) continue;
    const all = stops(inside);
    const after = all.find((one) => was.one.isConnected && was.one.compareDocumentPosition(one) & Node.DOCUMENT_POSITION_FOLLOWING);
    const found = after ?? all.at(was.one.isConnected ? -1 : 0);
    if (found) return found;
  }
  return null;
}

function give(one, was) {
  one.focus({ preventScroll: !was.keys });
  return document.activeElement === one;
}

function look() {
  if (!last) return;
  if (!nowhere()) return;
  const now = performance.now();
  if (!lostAt) lostAt = now;
  const again = canHave(last.one) ? last.one : likeness(last);
  if (again && give(again, last)) return;
  if (now - lostAt < WAIT_MS) return soon(50);
  const way = [last, ...past];
  lostAt = 0;
  last = null;
  for (const was of way) {
    const place = (canHave(was.one) ? was.one : likeness(was)) ?? nearest(was);
    if (place && give(place, was)) return;
  }
}

// Never at once: on its way from one thing to the next the focus is nowhere, too.
function soon(ms) {
  clearTimeout(timer);
  timer = setTimeout(look, ms);
}

document.addEventListener("focusin", (event) => {
  lostAt = 0;
  if (last) past.unshift(last);
  past.length = Math.min(past.length, PAST);
  last = noted(event.target);
  document.documentElement.dataset.wasFocused = "yes";
});

// Who leaves a thing that still stands, as by a press beside it, wants the focus to be nowhere.
document.addEventListener("focusout", (event) => {
  const left = event.target;
  if (!event.relatedTarget) setTimeout(() => nowhere() && last?.one === left && (canHave(left) ? (last = null) : look()), 0);
});

// The browser takes the focus from what has become hidden only with its next picture, so it is looked after that.
let due = 0;
new MutationObserver(() => {
  if (!last || due) return;
  due = setTimeout(() => {
    due = 0;
    look();
  }, 40);
}).observe(document.documentElement, {
  childList: true, subtree: true, attributes: true, attributeFilter: ["disabled", "hidden", "class", "open"],
});

// In a dialog Tab goes round. The framework holds it there only on the way forward.
document.addEventListener("keydown", (event) => {
  const dialog = [...document.querySelectorAll(".q-dialog")].at(-1);
  if (event.key !== "Tab" || !dialog || document.activeElement?.closest(".q-menu")) return;
  const all = stops(dialog);
  const at = all.indexOf(document.activeElement);
  const to = event.shiftKey ? (at <= 0 ? all.at(-1) : null) : at < 0 || at === all.length - 1 ? all[0] : null;
  if (!to) return;
  event.preventDefault();
  to.focus();
}, true);

// A page that loads itself anew comes back to where it was.
addEventListener("pagehide", () => {
  if (!last) return;
  const { tag, words: said, number } = last;
  try {
    sessionStorage.setItem(PLACE, JSON.stringify({ tag, words: said, number, at: Date.now() }));
  } catch {
    // the page begins at its top then
  }
});
const left = JSON.parse(sessionStorage.getItem(PLACE) ?? "null");
sessionStorage.removeItem(PLACE);
if (left && Date.now() - left.at < RELOAD_MS) {
  let tries = 0;
  const wait = setInterval(() => {
    if (!nowhere() || ++tries > 50) return clearInterval(wait);
    const again = window.did_handshake && !document.getElementById("app")?.inert && likeness(left);
    if (again) {
      clearInterval(wait);
      again.focus({ preventScroll: true });
    }
  }, 100);
}

window.scribelineFocus = { isLost: () => last !== null && nowhere() };
