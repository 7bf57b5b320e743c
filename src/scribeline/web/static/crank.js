// Turns the crank on the drawings of the page "Work out". It works nothing out: where piston, rod and open areas are at
// each angle stands in a table that the server made (tasks/crank_turn.py), and nothing goes over the wire while it turns.
const KEY = `scribeline:crank:${location.pathname}`;
const still = matchMedia("(prefers-reduced-motion: reduce)");
const PAUSE_MS = 1500; // from mark to mark, for whoever wants nothing to move by itself

let bench = null; // the element that holds the drawings
let data = null;
let moving = [];
let angle = 0;
let playing = false;
let before = 0;
let frames = 0;
let lengths = { unit: "mm", mm: 1, decimals: 2 }; // how a length is written

export function attach(element) {
  bench = element;
  new MutationObserver((changes) => {
    if (changes.some((one) => [...one.addedNodes].some(holdsMoving))) collect();
  }).observe(bench, { childList: true, subtree: true });
  const slider = control("angle");
  const stored = Number.parseFloat(localStorage.getItem(KEY));
  angle = Number.isFinite(stored) ? stored % 360 : Number.parseFloat(slider.value);
  slider.addEventListener("input", () => turnTo(Number.parseFloat(slider.value)));
  control("play").addEventListener("click", () => play(!playing));
  for (const button of document.querySelectorAll("[data-crank-by]")) {
    button.addEventListener("click", () => step(Number.parseFloat(button.dataset.crankBy)));
  }
  for (const button of document.querySelectorAll("[data-crank-mark]")) {
    button.addEventListener("click", () => toMark(Number.parseInt(button.dataset.crankMark, 10)));
  }
}

export function take(turning, written = lengths) {
  lengths = written;
  // The long table comes once; what an edge moves comes again and again.
  data = turning && (turning.turn || data) ? { ...data, ...turning } : null;
  const bar = document.querySelector(".crank");
  if (bar) bar.hidden = !data;
  layWindows();
  collect();
}

// What is open when, as bars along the slider.
function layWindows() {
  const rule = document.querySelector(".crank-rule");
  if (!rule || !data) return;
  const bars = data.windows.flatMap(([name, kind, opens, closes], row) =>
    (opens <= closes ? [[opens, closes]] : [[opens, 360], [0, closes]]).map((span) => ({ name, kind, row, span })),
  );
  while (rule.children.length > bars.length) rule.lastChild.remove();
  while (rule.children.length < bars.length) rule.append(document.createElement("i"));
  bars.forEach(({ kind, row, span }, i) => {
    rule.children[i].className = kind;
    Object.assign(rule.children[i].style, {
      left: `${span[0] / 3.6}%`, width: `${(span[1] - span[0]) / 3.6}%`, top: `${row * 33.3}%`,
    });
  });
}

export function framesDrawn() {
  return frames;
}

function holdsMoving(node) {
  return node.nodeType === 1 && (node.matches("[data-moves]") || node.querySelector("[data-moves]"));
}

function control(name) {
  return document.querySelector(`[data-crank="${name}"]`);
}

function collect() {
  moving = bench ? [...bench.querySelectorAll("[data-moves]")] : [];
  draw();
}

function play(on) {
  playing = on && data !== null;
  const button = control("play");
  button.setAttribute("aria-pressed", String(playing));
  button.querySelector("span").textContent = playing ? "Stop" : "Turn";
  if (!playing) {
    keep();
    say();
    return;
  }
  before = 0;
  if (still.matches) markByMark();
  else requestAnimationFrame(frame);
}

function frame(now) {
  if (!playing) return;
  const perMinute = Number.parseFloat(control("speed").value);
  if (before) angle = (angle + ((now - before) / 60000) * perMinute * 360) % 360;
  before = now;
  frames += 1;
  draw();
  requestAnimationFrame(frame);
}

function markByMark() {
  if (!playing) return;
  toMark(1, true);
  setTimeout(markByMark, PAUSE_MS);
}

function step(by) {
  play(false);
  turnTo(Math.round((angle + by) * 2) / 2);
}

function toMark(way, goOn = false) {
  if (!data) return;
  if (!goOn) play(false);
  const away = (mark) => (way * (mark[0] - angle) + 720) % 360;
  const ahead = data.marks.filter((mark) => away(mark) > 0.01).sort((a, b) => away(a) - away(b));
  if (ahead.length) turnTo(ahead[0][0]);
}

function turnTo(deg) {
  angle = (deg + 360) % 360;
  draw();
  keep();
  say();
}

function keep() {
  try {
    localStorage.setItem(KEY, angle.toFixed(2));
  } catch {
    // no room or no permission: the next load begins where it likes
  }
}

function at(table, step) {
  const place = angle / step;
  const low = Math.floor(place) % table.length;
  const high = (low + 1) % table.length;
  return table[low] + (table[high] - table[low]) * (place - Math.floor(place));
}

// Open area now. The table knows whole steps; what opens or closes between two of them does so at its own angle.
function openArea(name, table, step) {
  const window = data.windows.find((one) => one[0] === name);
  if (!window) return at(table, step);
  const [since, until] = [angle - window[2], window[3] - angle].map((deg) => ((deg % 360) + 360) % 360);
  const lasts = (window[3] - window[2] + 360) % 360;
  if (since >= lasts - 0.005 || until >= lasts - 0.005) return 0;
  const low = Math.floor(angle / step) * step;
  if (since < angle - low) return (table[(low / step + 1) % table.length] * since) / (since + low + step - angle);
  if (until < low + step - angle) return (table[(low / step) % table.length] * until) / (until + angle - low);
  return at(table, step);
}

function draw() {
  if (!data) return;
  const depth = at(data.turn.depth_mm, 0.5);
  const tilt = at(data.turn.tilt_deg, 0.5) - data.turn.tilt_deg[0];
  const areas = data.areas;
  const along = areas ? (((angle - areas.first_deg + 360) % 360) / 360) * areas.wide_mm : 0;
  const places = {
    piston: `translate(0 ${depth})`,
    rod: `translate(0 ${depth}) rotate(${tilt} ${data.pin[0]} ${-data.pin[1]})`,
    crank: `rotate(${angle})`,
    hand: `rotate(${angle})`,
    angle: `translate(${along} 0)`,
  };
  const open = {};
  for (const [name, table] of Object.entries(areas ? areas.mm2 : {})) {
    open[name] = openArea(name, table, areas.step_deg);
    places[`${name} area`] = `translate(${along} ${-open[name] * areas.mm_per_mm2})`;
  }
  for (const part of moving) {
    const place = places[part.dataset.moves];
    if (place) part.setAttribute("transform", place);
  }
  read(depth, open);
}

function read(depth, open) {
  const slider = control("angle");
  const words = inWords();
  slider.value = angle;
  slider.setAttribute("aria-valuetext", words);
  control("deg").textContent = words;
  control("depth").textContent = `${(depth / lengths.mm).toFixed(lengths.decimals)} ${lengths.unit} down`;
  for (const place of document.querySelectorAll("[data-open]")) {
    const mm2 = open[place.dataset.open];
    place.textContent = mm2 === undefined ? "" : mm2 > 0.05 ? `${mm2.toFixed(0)} mm²` : "shut";
    place.parentElement.classList.toggle("shut", !(mm2 > 0.05));
  }
}

function inWords() {
  return angle <= 180 ? `${angle.toFixed(1)}° after TDC` : `${(360 - angle).toFixed(1)}° before TDC`;
}

// What stands at this angle is said once the crank stands still, for those who do not see it.
function say() {
  const said = document.getElementById("crank-said");
  if (!said || !data) return;
  const mark = data.marks.find((one) => Math.abs(one[0] - angle) < 0.26);
  said.textContent = mark ? mark[1] : "";
}
