// What every page needs from the browser: typed text survives a lost network, and drawings can be slid by keyboard.
const KEY = `scribeline:typed:${location.pathname}:`;

// A field names its place in the work in hand with data-path. Its text is kept here until the server has saved it.
document.addEventListener("input", (event) => {
  const path = event.target?.dataset?.path;
  if (path) keep(path, event.target.value, event.target.getAttribute("aria-label"));
});

function keep(path, value, label) {
  try {
    localStorage.setItem(KEY + path, JSON.stringify({ value, label, at: Date.now() }));
  } catch {
    // no room or no permission: the server's copy is then the only one
  }
}

function saved(path) {
  localStorage.removeItem(KEY + path);
}

function typedBefore() {
  const found = [];
  for (let i = 0; i < localStorage.length; i++) {
    const key = localStorage.key(i);
    if (key.startsWith(KEY)) found.push({ path: key.slice(KEY.length), ...JSON.parse(localStorage.getItem(key)) });
  }
  return found;
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

// A page that is left for good says so; one that only sleeps, or may be come back to, is kept by the server as it is.
addEventListener("pagehide", (event) => {
  if (!event.persisted && typeof emitEvent === "function" && window.socket?.connected) emitEvent("left");
});

window.scribeline = { saved, typedBefore, keep, moved };

// After the page has come up, what was typed but never saved is offered again.
const before = typedBefore();
if (before.length) {
  const wait = setInterval(() => {
    if (typeof emitEvent !== "function" || !window.socket?.connected) return;
    clearInterval(wait);
    emitEvent("typed_before", before);
  }, 200);
}
