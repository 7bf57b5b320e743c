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

// Where the notebook leads to: the step of this cylinder that was looked at last.
const step = location.pathname.match(/^\/cylinder\/([^/]+)\/([a-z-]+)$/);
if (step) {
  try {
    localStorage.setItem(`scribeline:step:${decodeURIComponent(step[1])}`, step[2]);
  } catch {
    // without it the notebook leads to a step that fits
  }
}

// A page that is left for good says so; one that only sleeps, or may be come back to, is kept by the server as it is.
addEventListener("pagehide", (event) => {
  if (!event.persisted && typeof emitEvent === "function" && window.socket?.connected) emitEvent("left");
});

window.scribeline = { saved, typedBefore, keep };

// After the page has come up, what was typed but never saved is offered again.
const before = typedBefore();
if (before.length) {
  const wait = setInterval(() => {
    if (typeof emitEvent !== "function" || !window.socket?.connected) return;
    clearInterval(wait);
    emitEvent("typed_before", before);
  }, 200);
}
