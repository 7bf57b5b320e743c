// The page "Work out" in the browser: edges of ports that can be held, numbers that change in place, workings that open.
// What things mean and how they are called comes from the server; here they are put in their places.
import * as crank from "/static/crank.js";

const PORT_KEY = `scribeline:port:${location.pathname}`;
const EVERY_MS = 45; // an edge in motion is told to the server no more often
const QUIET_MS = 500; // after the last key the edge counts as let go
const PENDING_MS = 3000;

let lengths = { unit: "mm", mm: 1, decimals: 2, fine: 0.1, coarse: 1 }; // how they are written and stepped; `mm` per unit
const fineMm = () => lengths.fine * lengths.mm;

let bench = null;
let grip = null;
let fields = {};
let inHand = null;
let held = null; // what is being moved: {port, side, mm, pointer}
const pending = new Map(); // what was let go and the server has not shown yet: port|side -> {mm, at}
let sentAt = 0;
let trailing = 0;
let quiet = 0;

function tell(detail) {
  bench.dispatchEvent(new CustomEvent("bench", { detail }));
}

// --- from the server ------------------------------------------------------------------------------------------------

function take(told) {
  if ("lengths" in told) lengths = told.lengths;
  if ("turning" in told) crank.take(told.turning, lengths);
  if ("grip" in told) {
    grip = told.grip && told.grip.edges ? told.grip : null;
    for (const one of grip ? grip.edges : []) settle(one.travel);
    fields = told.fields || fields;
    layHandles();
    fillFields();
  }
  for (const [name, [text, change]] of Object.entries(told.numbers || {})) {
    for (const row of document.querySelectorAll(`[data-number="${CSS.escape(name)}"]`)) {
      const [is, within] = text.split(" | ");
      row.querySelector(".is").textContent = is;
      row.querySelector(".within").textContent = within || "";
      row.querySelector(".change").textContent = change;
      row.classList.toggle("moved", change !== "");
    }
  }
  for (const [name, html] of Object.entries(told.warnings || {})) {
    const place = document.querySelector(`[data-warnings="${name}"]`);
    if (place && place.told !== html) place.innerHTML = place.told = html;
  }
  for (const [name, html] of Object.entries(told.workings || {})) {
    const slot = document.querySelector(`[data-working="${CSS.escape(name)}"]`);
    if (slot) slot.innerHTML = html;
  }
  if ("moved" in told) {
    for (const place of document.querySelectorAll("[data-moved]")) place.textContent = told.moved;
  }
  if ("refused" in told) refuse(told.refused);
  for (const [path, text] of told.saved || []) {
    window.scribeline?.saved(path, text);
    const input = document.querySelector(`[data-path="${CSS.escape(path)}"]`);
    if (input?.dataset.typed === "told" && input.value === text) delete input.dataset.typed;
  }
}

// --- edges to hold --------------------------------------------------------------------------------------------------

function key(edge, part) {
  return `${edge.port}|${edge.side}|${part}`;
}

// An edge stands where it was let go until the server shows it there, or has had time enough to refuse.
function settle({ port, side, mm }) {
  const waiting = pending.get(`${port}|${side}`);
  if (waiting && (Math.abs(waiting.mm - mm) < 0.006 || performance.now() - waiting.at > PENDING_MS)) {
    pending.delete(`${port}|${side}`);
  }
}

function standsAt(edge) {
  if (held && held.port === edge.port && held.side === edge.side) return held.mm;
  return pending.get(`${edge.port}|${edge.side}`)?.mm ?? edge.mm;
}

function takeUp(edge, more = {}) {
  const mm = standsAt(edge);
  held = { port: edge.port, side: edge.side, from: mm, mm, edge, ...more };
}

function layHandles() {
  const layer = bench.querySelector(".grip");
  if (!layer) return;
  const wanted = new Map();
  const ports = [];
  let image = -1;
  let last = "";
  for (const one of grip ? grip.edges : []) {
    const edge = { ...one.travel, ...one };
    const place = `${edge.port}|${edge.left}`;
    if (place !== last) {
      image += 1;
      last = place;
      ports.push([`port|${image}`, edge]);
    }
    if (edge.port !== inHand) continue;
    for (const part of edge.side === "width" ? ["right", "left"] : [""]) wanted.set(key(edge, `${image}${part}`), { edge, part });
  }
  const there = new Map([...layer.children].map((child) => [child.dataset.key, child]));
  for (const [name, edge] of ports) {
    const button = there.get(name) || newPort(layer, name);
    there.delete(name);
    placePort(button, edge);
  }
  for (const [name, { edge, part }] of wanted) {
    const button = there.get(name) || newEdge(layer, name);
    there.delete(name);
    placeEdge(button, edge, part);
  }
  for (const gone of there.values()) gone.remove();
}

function newPort(layer, name) {
  const button = document.createElement("button");
  button.type = "button";
  button.className = "grip-port";
  button.dataset.key = name;
  button.tabIndex = -1; // the same choice stands as buttons below the drawing
  button.setAttribute("aria-hidden", "true");
  button.addEventListener("click", () => choose(button.dataset.port));
  layer.prepend(button);
  return button;
}

function placePort(button, edge) {
  button.dataset.port = edge.port;
  button.classList.toggle("in-hand", edge.port === inHand);
  Object.assign(button.style, {
    left: `${edge.left}%`, width: `${edge.right - edge.left}%`, top: `${edge.top}%`, height: `${edge.bottom - edge.top}%`,
  });
}

function newEdge(layer, name) {
  const button = document.createElement("button");
  button.type = "button";
  button.dataset.key = name;
  button.setAttribute("role", "slider");
  button.append(document.createElement("i"));
  button.addEventListener("pointerdown", grab);
  button.addEventListener("pointermove", drag);
  button.addEventListener("pointerup", drop);
  button.addEventListener("pointercancel", drop);
  button.addEventListener("keydown", nudge);
  layer.append(button);
  return button;
}

function placeEdge(button, edge, part) {
  button.edge = edge;
  button.end = part;
  button.className = `grip-edge grip-${part || edge.side}`;
  button.tabIndex = edge.chief && part !== "left" ? 0 : -1;
  if (button.tabIndex < 0) button.setAttribute("aria-hidden", "true");
  button.setAttribute("aria-label", `${edge.port}: ${edge.label}`);
  button.setAttribute("aria-orientation", edge.side === "width" ? "horizontal" : "vertical");
  const ends = [edge.low, edge.high].map((by) => edge.measured + edge.way * by).sort((a, b) => a - b);
  button.setAttribute("aria-valuemin", written(ends[0]));
  button.setAttribute("aria-valuemax", written(ends[1]));
  button.setAttribute("aria-valuenow", written(edge.mm));
  button.setAttribute("aria-valuetext", edge.words);
  lay(button, edge, standsAt(edge));
}

// Where an edge lies, in percent of the drawing, when it stands at mm.
function lay(button, edge, mm) {
  const across = 100 / grip.wide_mm;
  const down = across * ratio();
  const by = mm - edge.mm;
  const box = { left: edge.left, right: edge.right, top: edge.top, bottom: edge.bottom };
  if (edge.side === "roof") box.top += by * down;
  if (edge.side === "floor") box.bottom += by * down;
  if (edge.side === "width") {
    box.left -= 0.5 * by * across;
    box.right += 0.5 * by * across;
  }
  const style = button.style;
  if (edge.side === "width") {
    style.left = `${button.end === "left" ? box.left : box.right}%`;
    style.top = `${box.top}%`;
    style.height = `${box.bottom - box.top}%`;
  } else {
    style.left = `${box.left}%`;
    style.width = `${box.right - box.left}%`;
    style.top = `${edge.side === "roof" ? box.top : box.bottom}%`;
  }
}

// Percent of the width over percent of the height for the same length.
function ratio() {
  const layer = bench.querySelector(".grip");
  return layer.clientWidth / Math.max(1, layer.clientHeight);
}

function grab(event) {
  if (event.button > 0) return;
  const { edge, end } = event.currentTarget;
  event.currentTarget.setPointerCapture(event.pointerId);
  takeUp(edge, { end, x: event.clientX, y: event.clientY });
  bench.classList.add("holding");
}

function drag(event) {
  if (!held || held.x === undefined || !event.currentTarget.hasPointerCapture(event.pointerId)) return;
  const px = bench.querySelector(".grip").clientWidth / grip.wide_mm;
  const way = held.end === "left" ? -2 : held.end === "right" ? 2 : 1;
  const along = held.side === "width" ? event.clientX - held.x : event.clientY - held.y;
  moveTo(held.from + (way * along) / px, fineMm() / 2);
}

function drop(event) {
  if (!held || held.x === undefined) return;
  event.currentTarget.releasePointerCapture?.(event.pointerId);
  letGo();
}

function nudge(event) {
  const { edge } = event.currentTarget;
  const up = { ArrowUp: 1, ArrowRight: 1, ArrowDown: -1, ArrowLeft: -1 }[event.key];
  const page = { PageUp: 1, PageDown: -1 }[event.key];
  if (event.key === "Escape" && held) {
    held.mm = held.from;
    letGo();
  } else if (up || page) {
    // up is up on the drawing: a roof or a floor that goes up has less depth
    const size = (page || event.shiftKey ? lengths.coarse : lengths.fine) * lengths.mm;
    const way = (up || page) * (edge.side === "width" ? 1 : -1);
    if (!held) takeUp(edge);
    moveTo(held.mm + way * size, fineMm());
    clearTimeout(quiet);
    quiet = setTimeout(letGo, QUIET_MS);
  } else return;
  event.preventDefault();
}

function moveTo(mm, step) {
  const { edge } = held;
  const ends = [edge.low, edge.high].map((by) => edge.measured + edge.way * by);
  held.mm = Math.min(Math.max(Math.round(mm / step) * step, Math.min(...ends)), Math.max(...ends));
  for (const button of bench.querySelectorAll(".grip-edge")) {
    if (button.edge.port === held.port && button.edge.side === held.side) lay(button, button.edge, held.mm);
  }
  showField(held.port, held.side, held.mm);
  const wait = sentAt + EVERY_MS - performance.now();
  clearTimeout(trailing);
  if (wait <= 0) tellMove();
  else trailing = setTimeout(tellMove, wait);
}

function tellMove() {
  if (!held) return;
  sentAt = performance.now();
  tell({ what: "move", port: held.port, side: held.side, mm: held.mm });
}

function letGo() {
  if (!held) return;
  clearTimeout(trailing);
  clearTimeout(quiet);
  const { port, side, mm } = held;
  pending.set(`${port}|${side}`, { mm, at: performance.now() });
  held = null;
  bench.classList.remove("holding");
  tell({ what: "set", port, side, mm });
}

// --- the port in hand and its fields --------------------------------------------------------------------------------

function choose(port) {
  inHand = port;
  try {
    localStorage.setItem(PORT_KEY, port);
  } catch {
    // it is only a choice of view
  }
  for (const tab of document.querySelectorAll("[data-port-tab]")) {
    tab.setAttribute("aria-pressed", String(tab.dataset.portTab === port));
  }
  for (const panel of document.querySelectorAll("[data-port-panel]")) panel.hidden = panel.dataset.portPanel !== port;
  layHandles();
}

function edgeOf(port, side) {
  return grip?.edges.find((one) => one.travel.port === port && one.travel.side === side);
}

function fillFields() {
  for (const [port, said] of Object.entries(fields)) {
    for (const side of ["roof", "floor", "width"]) {
      const edge = edgeOf(port, side);
      if (edge) showField(port, side, standsAt(edge.travel));
    }
    const input = document.querySelector(`[data-field="${CSS.escape(`${port}|opens`)}"]`);
    if (input && !input.dataset.typed) input.value = said.opens === null ? "" : said.opens.toFixed(1);
  }
}

function showField(port, side, mm) {
  const input = document.querySelector(`[data-field="${CSS.escape(`${port}|${side}`)}"]`);
  if (!input || input.dataset.typed) return; // what somebody is typing is theirs
  input.value = written(mm);
}

function written(mm) {
  return (mm / lengths.mm).toFixed(lengths.decimals);
}

// "main transfer|roof" as the port and the edge.
function parts(field) {
  const cut = field.lastIndexOf("|");
  return [field.slice(0, cut), field.slice(cut + 1)];
}

// What was typed stays in its field until the server has answered to it: numbers from before it may still be on their way.
function typed(input) {
  input.dataset.typed = "told";
  const [port, side] = parts(input.dataset.field);
  tell({ what: "type", port, side, text: input.value });
}

function refuse({ field, why }) {
  for (const place of document.querySelectorAll(".refused")) {
    place.textContent = place.dataset.refused === field ? why : "";
  }
  const input = document.querySelector(`[data-field="${CSS.escape(field)}"]`);
  if (!input) return;
  input.setAttribute("aria-invalid", why ? "true" : "false");
  if (why) input.dataset.typed = "refused";
}

function byStep(button) {
  const [port, side] = parts(button.dataset.step);
  const edge = edgeOf(port, side);
  if (!edge) return;
  if (!held) takeUp({ ...edge.travel, ...edge });
  if (held.port !== port || held.side !== side) return;
  moveTo(held.mm + Number.parseFloat(button.dataset.by) * lengths.mm, fineMm());
  clearTimeout(quiet);
  quiet = setTimeout(letGo, QUIET_MS);
}

// --- workings -------------------------------------------------------------------------------------------------------

function toggled(details) {
  const name = details.dataset.number;
  if (!name) return;
  tell({ what: details.open ? "open" : "close", name });
  // the address names what was opened last, so that a reload, or somebody who is sent it, comes back to it
  if (details.open) history.replaceState(null, "", `#${encodeURIComponent(name)}`);
  else if (named() === name) history.replaceState(null, "", location.pathname + location.search);
}

function named() {
  return decodeURIComponent(location.hash.slice(1)) || new URLSearchParams(location.search).get("number");
}

// Opens the working that an address or a link names: ...#blowdown_deg, or ...?number=blowdown_deg
function openNamed() {
  const name = named();
  const details = name && document.querySelector(`details[data-number="${CSS.escape(name)}"]`);
  if (!details) return;
  for (let outer = details; outer; outer = outer.parentElement?.closest("details")) outer.open = true;
  details.querySelector("summary").focus();
  details.scrollIntoView({ block: "center" });
}

// --- begin ----------------------------------------------------------------------------------------------------------

function begin() {
  bench = document.querySelector(".bench");
  if (!bench) return false;
  crank.attach(bench);
  const stored = localStorage.getItem(PORT_KEY);
  const tabs = [...document.querySelectorAll("[data-port-tab]")];
  const first = tabs.find((tab) => tab.dataset.portTab === stored) || tabs[0];
  if (first) choose(first.dataset.portTab);
  document.addEventListener("click", (event) => {
    const tab = event.target.closest("[data-port-tab]");
    if (tab) choose(tab.dataset.portTab);
    const step = event.target.closest("[data-step]");
    if (step) byStep(step);
  });
  document.addEventListener("change", (event) => event.target.dataset?.field && typed(event.target));
  document.addEventListener("input", (event) => {
    if (event.target.dataset?.field) event.target.dataset.typed = "now";
  });
  document.addEventListener("keydown", (event) => {
    if (event.key === "Enter" && event.target.dataset?.field) event.target.blur();
  });
  document.addEventListener("scribeline:back", () => {
    for (const { path } of window.scribeline.typedBefore()) {
      const input = document.querySelector(`[data-field][data-path="${CSS.escape(path)}"]`);
      if (input && input !== document.activeElement) typed(input);
    }
  });
  document.addEventListener("toggle", (event) => toggled(event.target), true);
  addEventListener("hashchange", openNamed);
  addEventListener("resize", layHandles);
  const seen = new IntersectionObserver((changes) => {
    for (const one of changes) one.target.dataset.seen = String(one.isIntersecting);
    const names = [...bench.querySelectorAll("[data-drawing]")].filter((one) => one.dataset.seen === "true");
    tell({ what: "see", names: names.map((one) => one.dataset.drawing) });
  });
  for (const one of bench.querySelectorAll("[data-drawing]")) seen.observe(one);
  take(JSON.parse(bench.dataset.first));
  for (const told of window.benchQueue || []) take(told);
  window.benchQueue = { push: take };
  openNamed();
  return true;
}

if (!begin()) {
  const waiting = new MutationObserver(() => begin() && waiting.disconnect());
  waiting.observe(document.body, { childList: true, subtree: true });
}

window.scribelineBench = { take, framesDrawn: crank.framesDrawn };
