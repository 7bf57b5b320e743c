// Prove: the grid of typed times, and the traces on which pulls are moved. The server is told by events of its own.
const $ = (selector, inside = document) => inside.querySelector(selector);
const $$ = (selector, inside = document) => [...inside.querySelectorAll(selector)];
const tell = (event, told) => typeof emitEvent === "function" && emitEvent(event, told);

// --- the grid

const typed = (input) => input.dataset.was !== undefined && input.value !== input.dataset.was;

function call(row, name) {
  row.dataset.row = name;
  const trial = row.closest("table").dataset.trial;
  for (const input of $$("input", row)) input.dataset.path = `prove.${trial}.${name}.${input.dataset.column}`;
}

function key(row) {
  if (!row.dataset.row) {
    const bytes = crypto.getRandomValues(new Uint8Array(6));
    call(row, [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join(""));
  }
  return row.dataset.row;
}

// The last row is always empty: typing into it makes the next.
function another(body, from) {
  const made = from.cloneNode(true);
  made.dataset.row = "";
  const number = body.rows.length + 1;
  $("th", made).textContent = number;
  for (const input of $$("input", made)) {
    input.value = "";
    input.removeAttribute("value");
    input.removeAttribute("aria-invalid");
    input.dataset.path = "";
    delete input.dataset.was;
    delete input.dataset.counts;
    input.setAttribute("aria-label", input.getAttribute("aria-label").replace(/\d+$/, number));
  }
  for (const problem of $$(".problem", made)) problem.textContent = "";
  body.append(made);
  return made;
}

let here = null; // the cell that has the focus

document.addEventListener("focusin", (event) => {
  here = event.target.closest?.("table.typed input") ?? null;
  if (here && here.dataset.was === undefined) here.dataset.was = here.value;
});

// Before the shell's own listener, so that a new row's place is known when it keeps what is typed.
document.addEventListener(
  "input",
  (event) => {
    const input = event.target.closest?.("table.typed input");
    if (!input) return;
    const row = input.closest("tr");
    key(row);
    if (row === row.parentElement.lastElementChild) another(row.parentElement, row);
  },
  true,
);

function leave(input) {
  if (typed(input)) send(input, input.value);
}

// data-was : the text that the server knows, or will. data-counts : number of the entry that it is kept by; until the
// server has said which, and shown what it has since, nothing that it knew before takes the place of the text.
function send(input, text) {
  input.dataset.was = text;
  input.dataset.counts = "Infinity";
  tell("prove_cell", { row: key(input.closest("tr")), column: input.dataset.column, text, path: input.dataset.path });
}

const cellOf = (path) => $(`table.typed input[data-path="${CSS.escape(path)}"]`);

function answered([path, text], number, kept) {
  if (kept) window.scribeline?.saved(path, text);
  const input = cellOf(path);
  if (input?.dataset.was === text) input.dataset.counts = number;
}

// It stays in its cell and in the browser, and leaving the cell sends it again.
function refused(path) {
  const input = cellOf(path);
  if (input) input.dataset.was = "";
}

document.addEventListener("focusout", (event) => {
  const input = event.target.closest?.("table.typed input");
  if (!input) return;
  queueMicrotask(() => {
    if (!input.isConnected) return; // not left: the table was taken away, and `carry` brings it into the next
    if (here === input && document.activeElement !== input) here = null;
    leave(input);
  });
});

document.addEventListener("keydown", (event) => {
  const input = event.target.closest?.("table.typed input");
  if (!input || !["Enter", "ArrowDown", "ArrowUp"].includes(event.key)) return;
  const row = input.closest("tr");
  const next = event.key === "ArrowUp" ? row.previousElementSibling : row.nextElementSibling;
  leave(input);
  if (next) $(`input[data-column="${CSS.escape(input.dataset.column)}"]`, next).focus();
  event.preventDefault();
});

document.addEventListener("paste", (event) => {
  const input = event.target.closest?.("table.typed input");
  const text = event.clipboardData?.getData("text/plain") ?? "";
  if (!input || !/[\t\n]/.test(text.trim())) return;
  event.preventDefault();
  const rows = [];
  for (let row = input.closest("tr"); row?.dataset.row; row = row.nextElementSibling) rows.push(row.dataset.row);
  tell("prove_paste", { rows, column: input.dataset.column, text });
});

// Back on the network: a cell that was left meanwhile may never have arrived.
document.addEventListener("scribeline:back", () => {
  for (const { path, value } of window.scribeline.typedBefore()) {
    const input = cellOf(path);
    if (!input || input === document.activeElement) continue;
    input.value = value;
    send(input, value);
  }
});

const columnOf = (row, name) => $$("input", row).find((one) => one.dataset.column === name);

// The row of this key; the empty one at the end becomes it where there is none yet.
function rowFor(body, name) {
  const found = $$("tr", body).find((one) => one.dataset.row === name);
  if (found) return found;
  const row = body.lastElementChild;
  another(body, row);
  call(row, name);
  return row;
}

// What the server has now, up to the entry of this number. A cell that somebody is typing into is left alone; a row that
// is not told of was taken back.
function cells(rows, number) {
  const body = $("table.typed tbody");
  if (!body) return;
  const there = new Set($$("tr", body).map((row) => row.dataset.row));
  for (const one of rows) if (!there.has(one.row)) rowFor(body, one.row);
  const told = new Map(rows.map((one) => [one.row, one]));
  for (const row of $$("tr", body)) {
    const one = told.get(row.dataset.row);
    for (const input of $$("input", row)) {
      const text = one?.cells[input.dataset.column] ?? "";
      if ((input === document.activeElement && typed(input)) || Number(input.dataset.counts ?? 0) > number) continue;
      if (input.value !== text) input.value = text;
      input.dataset.was = text;
      const problem = one?.problems[input.dataset.column] ?? "";
      input.toggleAttribute("aria-invalid", false);
      if (problem) input.setAttribute("aria-invalid", "true");
      const words = input.parentElement.querySelector(".problem");
      if (words.textContent !== problem) words.textContent = problem;
    }
  }
}

// Other columns, and so another table: what is being typed, or is on its way to the server, goes over into it.
function carry(old, table) {
  const body = $("tbody", table);
  for (const row of $$("tbody tr", old)) {
    for (const input of $$("input", row)) {
      const under = typed(input) || Number(input.dataset.counts ?? 0) > Number(table.dataset.number);
      if (!under && input !== here) continue;
      const to = columnOf(row.dataset.row ? rowFor(body, row.dataset.row) : body.lastElementChild, input.dataset.column);
      if (!to) continue;
      if (under) {
        to.value = input.value;
        Object.assign(to.dataset, { was: input.dataset.was, ...(input.dataset.counts && { counts: input.dataset.counts }) });
      }
      if (input !== here) continue;
      to.focus({ preventScroll: true });
      to.setSelectionRange(input.selectionStart, input.selectionEnd);
    }
  }
}

new MutationObserver((all) => {
  for (const { addedNodes, removedNodes } of all) {
    const [old, table] = [removedNodes, addedNodes].map((some) => [...some].find((one) => one.matches?.("table.typed")));
    if (old && table?.isConnected) carry(old, table);
  }
}).observe(document.body, { childList: true, subtree: true });

window.prove = { cells, answered, refused };

// --- traces

const ANSWERED_MS = 3000; // after so long without a press the server has drawn what it was sent
let held = null; // {band, which, start, end, trace} while an end is dragged or moved by keys
let sending = 0;
let stepped = null; // {pull, which, at, till}: where keys put an end; a trace drawn from an earlier press must not take it back
// Which handle had the focus, so that it has it again at once when the trace is drawn anew. focus.js would see to it a
// moment later, in which a press would go nowhere.
let wanted = null;

const seconds = (trace, x) => {
  const box = $(".trace-field", trace).getBoundingClientRect();
  const from = Number(trace.dataset.from);
  return from + (Math.min(Math.max(x - box.left, 0), box.width) / box.width) * (Number(trace.dataset.to) - from);
};

function move(band, which, at) {
  const trace = band.closest(".trace");
  const [from, to] = [Number(trace.dataset.from), Number(trace.dataset.to)];
  let [start, end] = [Number(band.dataset.start), Number(band.dataset.end)];
  if (which === "start") start = Math.min(Math.max(at, 0), end - 0.1);
  else end = Math.max(Math.min(at, Number(trace.dataset.end)), start + 0.1);
  band.dataset.start = start;
  band.dataset.end = end;
  const share = (t) => (100 * (Math.min(Math.max(t, from), to) - from)) / (to - from);
  band.style.left = `${share(start)}%`;
  band.style.width = `${share(end) - share(start)}%`;
  const handle = $(`.trace-end[data-which="${which}"]`, band);
  const now = (which === "start" ? start : end).toFixed(2);
  handle.setAttribute("aria-valuenow", now);
  handle.setAttribute("aria-valuetext", `${now} seconds`);
}

function sendEnds(band) {
  tell("prove_ends", {
    pull: Number(band.dataset.pull),
    start: Number(band.dataset.start),
    end: Number(band.dataset.end),
  });
}

document.addEventListener("pointerdown", (event) => {
  const handle = event.target.closest?.(".trace-end");
  if (!handle) return;
  held = { band: handle.closest(".trace-band"), which: handle.dataset.which, moved: false };
  handle.setPointerCapture(event.pointerId);
  handle.focus();
  event.preventDefault();
});

document.addEventListener("pointermove", (event) => {
  if (!held) return;
  held.moved = true;
  move(held.band, held.which, seconds(held.band.closest(".trace"), event.clientX));
});

for (const ending of ["pointerup", "pointercancel"])
  document.addEventListener(ending, () => {
    if (held?.moved) sendEnds(held.band);
    held = null;
  });

document.addEventListener("keydown", (event) => {
  const handle = event.target.closest?.(".trace-end");
  const step = { ArrowLeft: -0.1, ArrowDown: -0.1, ArrowRight: 0.1, ArrowUp: 0.1, PageDown: -1, PageUp: 1 }[event.key];
  if (!handle || !step) return;
  event.preventDefault();
  const [band, which] = [handle.closest(".trace-band"), handle.dataset.which];
  const pull = band.dataset.pull;
  const mine = stepped?.pull === pull && stepped.which === which && event.timeStamp < stepped.till;
  const from = mine ? stepped.at : Number(band.dataset[which]);
  move(band, which, from + (event.shiftKey ? 10 * step : step));
  stepped = { pull, which, at: Number(band.dataset[which]), till: event.timeStamp + ANSWERED_MS };
  clearTimeout(sending);
  sending = setTimeout(() => sendEnds(band), 400);
});

document.addEventListener("click", (event) => {
  const name = event.target.closest?.(".trace-name");
  if (name) return tell("prove_choose", { pull: Number(name.closest(".trace-band").dataset.pull) });
  if (event.target.closest?.(".trace-end")) return;
  if (event.target.closest?.("button[data-choose]")) return $(".drop input[type=file]")?.click();
  const file = event.target.closest?.("button[data-file]");
  if (file) return tell("prove_file", { file: Number(file.dataset.file) });
  const knob = event.target.closest?.("button.in-table");
  if (knob) return tell("prove_run", { run: knob.dataset.run, back: knob.dataset.back === "1" });
  const trace = event.target.closest?.(".trace[data-from]:not(.close)");
  if (trace && event.target.closest(".trace-field")) tell("prove_look", { at: seconds(trace, event.clientX) });
});

document.addEventListener("focusin", (event) => {
  const handle = event.target.closest?.(".trace-end");
  wanted = handle ? { pull: handle.closest(".trace-band").dataset.pull, which: handle.dataset.which } : null;
  if (stepped?.pull !== wanted?.pull || stepped?.which !== wanted?.which) stepped = null;
});

new MutationObserver(() => {
  if (!wanted || (document.activeElement && document.activeElement !== document.body)) return;
  const handle = $(`.trace-band[data-pull="${wanted.pull}"] .trace-end[data-which="${wanted.which}"]`);
  if (handle) handle.focus({ preventScroll: true });
}).observe(document.body, { childList: true, subtree: true });
