// What every page needs from the browser: typed text survives a lost network, and drawings can be slid by keyboard.
const KEY = `scribeline:typed:${location.pathname}:`;

// A field names its place in the work in hand with data-path. Its text is kept here until the server has saved it.
document.addEventListener("input", (event) => {
  const path = event.target?.dataset?.path;
  if (path) keep(path, event.target.value, event.target.getAttribute("aria-label"));
});

// draft : it is to be typed on, not to be saved yet, and goes back into its field by itself (text_input.js)
function keep(path, value, label, draft = false) {
  try {
    localStorage.setItem(KEY + path, JSON.stringify({ value, label, draft, at: Date.now() }));
  } catch {
    // no room or no permission: the server's copy is then the only one
  }
}

// text : what was saved; where something else has been typed over it since, that is kept on.
function saved(path, text) {
  if (text === undefined || kept(path) === text) localStorage.removeItem(KEY + path);
}

function kept(path) {
  return JSON.parse(localStorage.getItem(KEY + path) ?? "null")?.value;
}

// Say in words what was typed where no field is any longer that it belongs to.
function offer(path) {
  const found = typedBefore().filter((one) => one.path === path);
  if (found.length && window.socket?.connected) emitEvent("typed_before", found);
}

function typedBefore() {
  const found = [];
  for (let i = 0; i < localStorage.length; i++) {
    const key = localStorage.key(i);
    if (key.startsWith(KEY)) found.push({ path: key.slice(KEY.length), ...JSON.parse(localStorage.getItem(key)) });
  }
  return found.filter((one) => !one.draft);
}

// Until the server listens nothing can be pressed or typed: what is done on either side of that moment could arrive in
// another order than it was done.
const app = document.getElementById("app");
if (app && !window.did_handshake) {
  app.inert = true;
  const listening = setInterval(() => {
    if (!window.did_handshake) return;
    clearInterval(listening);
    app.inert = false;
  }, 20);
}

// Where the notebook leads to: the step of this cylinder that was looked at last.
const step = location.pathname.match(/^\/cylinder\/([^/]+)\/([a-z-]+)$/);
if (step) {
  try {
    localStorage.setItem(`scribeline:step:${decodeURIComponent(step[1])}`, step[2]);
  } catch {
    // without it the notebook leads to a step that fits
  }
}

// Fields that are of another place now, as pairs of paths: an element of a list was added or taken away before theirs.
function moved(pairs) {
  const found = pairs.map(([from, to]) => ({
    to,
    from,
    kept: localStorage.getItem(KEY + from),
    fields: document.querySelectorAll(`[data-path="${CSS.escape(from)}"], [data-entry="${CSS.escape(from)}"]`),
  }));
  for (const one of found) saved(one.from);
  for (const one of found) {
    if (one.kept !== null) localStorage.setItem(KEY + one.to, one.kept);
    for (const field of one.fields) field.dataset[field.dataset.path ? "path" : "entry"] = one.to;
  }
}

// A network that was away may come back without the server noticing: a page is loaded anew only where there is a server
// to load it from, for a browser that finds none shows a page of its own, from which it may never come back.
let away = false;
const reachable = () => fetch(location.href, { method: "HEAD", cache: "no-store" }).then(() => true, () => false);
const listen = setInterval(() => {
  if (!window.did_handshake) return;
  clearInterval(listen);
  window.socket.on("disconnect", () => (away = true));
  window.socket.on("connect", () => {
    if (away) setTimeout(() => document.dispatchEvent(new Event("scribeline:back")), 0);
    away = false;
  });
  const [usual] = window.socket.listeners("connect_error");
  window.socket.off("connect_error");
  window.socket.on("connect_error", async (error) => {
    if (error.message !== "timeout" || (await reachable())) usual(error);
  });
}, 20);

// Ctrl+Z and Ctrl+Shift+Z (or Ctrl+Y) press Undo and Redo in the head. In a field with something half typed they are the
// browser's own; in any other the browser would take back what was typed in some other field, unseen.
const TEXT = "input:not([type=checkbox],[type=radio],[type=range]), textarea";
const half = { field: null, began: "", typed: false };
const begin = (event) => Object.assign(half, { field: event.target, began: event.target.value, typed: false });
for (const kind of ["focusin", "change"]) addEventListener(kind, (event) => event.target?.matches?.(TEXT) && begin(event), true);
addEventListener("input", (event) => event.target === half.field && event.isTrusted && (half.typed = true), true);
addEventListener("keydown", (event) => {
  const key = event.key.toLowerCase();
  if (!(event.ctrlKey || event.metaKey) || event.altKey || !["z", "y"].includes(key) || event.defaultPrevented) return;
  const redo = key === "y" || event.shiftKey;
  if (event.target === half.field && (redo ? half.typed : half.field.value !== half.began)) return;
  if (document.querySelector("[role=dialog]")) return; // whatever it asks comes first
  event.preventDefault();
  document.querySelector(`[data-turn=${redo ? "redo" : "undo"}]`)?.click();
});

// A page that is left for good says so; one that only sleeps, or may be come back to, is kept by the server as it is.
addEventListener("pagehide", (event) => {
  if (!event.persisted && typeof emitEvent === "function" && window.socket?.connected) emitEvent("left");
});

window.scribeline = { saved, kept, offer, typedBefore, keep, moved };

// --- mm and inch ----------------------------------------------------------------------------------------------------

// Choosing other units builds the fields, or the whole page, anew. What is half typed goes back into its field then, and
// the focus with it; the choice itself does not take the focus away, or the text would count as typed in the old units.
const HALF = `scribeline:half-typed:${location.pathname}`;
const HALF_MS = 15000;
const put = new Set(); // fields whose text was put back: leaving them is their change

addEventListener("mousedown", (event) => {
  if (event.target?.closest?.("[data-units]")) event.preventDefault();
}, true);
document.addEventListener("click", (event) => {
  if (!event.target?.closest?.("[data-units]")) return;
  const focus = document.activeElement?.dataset?.path;
  const texts = typedBefore().map(({ path, value }) => [path, value]);
  if (!focus && !texts.length) return;
  try {
    sessionStorage.setItem(HALF, JSON.stringify({ focus, texts, at: Date.now() }));
  } catch {
    return; // it is offered again in words
  }
  putBack();
}, true);
document.addEventListener("focusout", (event) => {
  if (put.delete(event.target)) event.target.dispatchEvent(new Event("change", { bubbles: true }));
});
document.addEventListener("input", (event) => event.isTrusted && put.delete(event.target));

const fieldOf = (path) => document.querySelector(`input[data-path="${CSS.escape(path)}"], textarea[data-path="${CSS.escape(path)}"]`);

// Wait for the fields to be there anew; what somebody types meanwhile is theirs. Resolves to the paths that never came.
function putBack() {
  const { focus, texts, at } = JSON.parse(sessionStorage.getItem(HALF) ?? '{"texts":[],"at":0}');
  if (Date.now() - at > HALF_MS) sessionStorage.removeItem(HALF);
  const left = new Map(Date.now() - at > HALF_MS ? [] : texts);
  const old = new Set([...left.keys(), focus].map((path) => path && fieldOf(path)).filter((one) => window.socket?.connected && one));
  const typed = (event) => event.isTrusted && left.delete(event.target?.dataset?.path);
  document.addEventListener("input", typed);
  return new Promise((done) => {
    let tries = 0;
    let wanted = focus;
    const wait = setInterval(() => {
      const ready = typeof emitEvent === "function" && window.socket?.connected;
      for (const [path, value] of ready ? [...left] : []) {
        const field = fieldOf(path);
        if (!field || old.has(field)) continue;
        left.delete(path);
        if (field.value === value) continue;
        const kind = field.tagName === "TEXTAREA" ? HTMLTextAreaElement : HTMLInputElement;
        Object.getOwnPropertyDescriptor(kind.prototype, "value").set.call(field, value);
        field.dispatchEvent(new Event("input", { bubbles: true }));
        put.add(field);
      }
      const field = wanted && ready && fieldOf(wanted);
      if (field && !old.has(field)) {
        wanted = "";
        if (document.activeElement === document.body) field.focus();
      }
      if ((!left.size && !wanted) || ++tries > 50) {
        clearInterval(wait);
        document.removeEventListener("input", typed);
        sessionStorage.removeItem(HALF);
        done([...left.keys()]);
      }
    }, 100);
  });
}

// After the page has come up, what was typed but never saved is offered again, or goes back where only the units changed.
const before = typedBefore();
if (before.length || sessionStorage.getItem(HALF)) {
  const half = new Set(JSON.parse(sessionStorage.getItem(HALF) ?? '{"texts":[]}').texts.map(([path]) => path));
  putBack().then((lost) => {
    const offered = before.filter(({ path }) => !half.has(path) || lost.includes(path));
    const wait = setInterval(() => {
      if (typeof emitEvent !== "function" || !window.socket?.connected) return;
      clearInterval(wait);
      if (offered.length) emitEvent("typed_before", offered);
    }, 200);
  });
}
