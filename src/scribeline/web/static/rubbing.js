// Outlines over a rubbing. Lengths are millimetres on the bore's wall, y down from the deck, as the SVG's own units.
// While something is dragged only this browser knows; the server is told when it is let go, with "outline_moved".
const GRIP_PX = 26; // half of what a finger may hit
const SVG = "http://www.w3.org/2000/svg";
const EDGES = ["left edge", "right edge", "roof", "floor", "radius above", "radius below"];

let board = null;
let lengths = { unit: "mm", mm: 1, decimals: 2, fine: 0.05, coarse: 0.5 }; // how they are written and stepped; `mm` per unit
const written = (mm) => (mm / lengths.mm).toFixed(lengths.decimals);
const inWords = (mm) => `${written(mm)} ${lengths.unit}`;

class Board {
  constructor(svg) {
    this.svg = svg;
    lengths = JSON.parse(svg.dataset.lengths);
    this.whole = svg.viewBox.baseVal;
    this.all = [this.whole.x, this.whole.y, this.whole.width, this.whole.height];
    this.openings = new Map(JSON.parse(svg.dataset.openings).map((one) => [one.number, one]));
    this.says = svg.parentElement.querySelector(".over-says");
    this.layer = svg.appendChild(document.createElementNS(SVG, "g"));
    this.chosen = null;
    this.tools(svg.parentElement.querySelector(".over-tools"));
    new ResizeObserver(() => this.draw()).observe(svg);
    this.draw();
  }

  // --- what to look at: everything, or one opening as large as the screen allows

  tools(bar) {
    const make = (words, number) => {
      const one = bar.appendChild(document.createElement("button"));
      one.type = "button";
      one.textContent = words;
      one.dataset.number = number ?? "";
      one.addEventListener("click", () => this.choose(number));
      return one;
    };
    this.buttons = [make("All", null)];
    for (const one of this.openings.values()) this.buttons.push(make(`${one.number}  ${one.name}`, one.number));
  }

  choose(number) {
    this.chosen = number;
    const one = this.openings.get(number);
    if (one) {
      const [left, top, right, bottom] = box(one.shape);
      const air = 0.16 * Math.max(right - left, bottom - top) + 1.5;
      this.svg.setAttribute("viewBox", [left - air, top - air, right - left + 2 * air, bottom - top + 2 * air].join(" "));
    } else {
      this.svg.setAttribute("viewBox", this.all.join(" "));
    }
    this.draw();
  }

  show(changed) {
    for (const one of changed) this.openings.set(one.number, one);
    this.draw();
  }

  // --- drawing

  get pxPerMm() {
    const view = this.svg.viewBox.baseVal;
    const rect = this.svg.getBoundingClientRect();
    return Math.min(rect.width / view.width, rect.height / view.height) || 1;
  }

  draw() {
    const focused = document.activeElement?.dataset?.grip;
    this.layer.replaceChildren();
    for (const button of this.buttons) {
      button.setAttribute("aria-pressed", String(button.dataset.number === String(this.chosen ?? "")));
    }
    for (const one of this.openings.values()) this.drawOne(one);
    if (focused) this.layer.querySelector(`[data-grip="${focused}"]`)?.focus({ preventScroll: true });
    this.tell();
  }

  drawOne(one) {
    const group = this.layer.appendChild(document.createElementNS(SVG, "g"));
    const path = outline(one.shape);
    const mm = 1 / this.pxPerMm;
    for (const kind of ["halo", "line"]) {
      const drawn = group.appendChild(document.createElementNS(SVG, "path"));
      drawn.setAttribute("d", path);
      drawn.setAttribute("class", `outline-${kind}${one.doubt ? " in-doubt" : ""}`);
      drawn.setAttribute("stroke-width", (kind === "halo" ? 5 : 2) * mm);
      if (one.doubt) drawn.setAttribute("stroke-dasharray", `${8 * mm} ${5 * mm}`);
    }
    if (this.chosen !== null && this.chosen !== one.number) return;
    const [left, top, right, bottom] = box(one.shape);
    if (this.chosen === null) {
      const label = group.appendChild(document.createElementNS(SVG, "text"));
      label.textContent = one.number;
      set(label, { x: (left + right) / 2, y: (top + bottom) / 2, "font-size": 20 * mm, class: "outline-number" });
      const hit = group.appendChild(document.createElementNS(SVG, "path"));
      set(hit, { d: path, class: "outline-hit" });
      hit.addEventListener("click", () => this.choose(one.number));
      return;
    }
    grips(one.shape).forEach((grip, i) => this.drawGrip(group, one, grip, i, mm));
  }

  drawGrip(group, one, grip, i, mm) {
    const made = group.appendChild(document.createElementNS(SVG, "g"));
    const name = `${grip.what} of ${one.name}`;
    set(made, {
      class: "grip", tabindex: 0, role: "slider", "aria-label": name, "data-grip": `${one.number}-${i}`,
      "aria-valuenow": written(grip.value), "aria-valuetext": grip.says,
      "aria-orientation": grip.across ? "horizontal" : "vertical",
    });
    const hit = made.appendChild(document.createElementNS(SVG, "circle"));
    set(hit, { cx: grip.x, cy: grip.y, r: GRIP_PX * mm, class: "grip-hit" });
    const mark = made.appendChild(document.createElementNS(SVG, "rect"));
    const half = (grip.free ? 6 : 8) * mm;
    set(mark, { x: grip.x - half, y: grip.y - half, width: 2 * half, height: 2 * half, class: "grip-mark", "stroke-width": 2 * mm });
    if (grip.round) set(mark, { rx: half, ry: half });
    made.addEventListener("pointerdown", (event) => this.drag(event, one, i));
    made.addEventListener("keydown", (event) => this.key(event, one, i));
  }

  // --- moving

  at(event) {
    const point = new DOMPoint(event.clientX, event.clientY).matrixTransform(this.svg.getScreenCTM().inverse());
    return [point.x, point.y];
  }

  drag(event, one, i) {
    event.preventDefault();
    const was = structuredClone(one.shape);
    const start = this.at(event);
    this.layer.querySelector(`[data-grip="${one.number}-${i}"]`)?.focus({ preventScroll: true });
    const move = (next) => {
      const here = this.at(next);
      one.shape = moved(was, i, here[0] - start[0], here[1] - start[1]);
      this.draw();
    };
    const end = (kept) => {
      window.removeEventListener("pointermove", move);
      window.removeEventListener("pointerup", up);
      window.removeEventListener("pointercancel", cancel);
      window.removeEventListener("keydown", escape);
      if (!kept) one.shape = was;
      this.draw();
      if (kept && JSON.stringify(was) !== JSON.stringify(one.shape)) this.keep(one);
    };
    const up = () => end(true);
    const cancel = () => end(false);
    const escape = (pressed) => pressed.key === "Escape" && end(false);
    window.addEventListener("pointermove", move);
    window.addEventListener("pointerup", up);
    window.addEventListener("pointercancel", cancel);
    window.addEventListener("keydown", escape);
  }

  key(event, one, i) {
    const step = (event.shiftKey ? lengths.coarse : lengths.fine) * lengths.mm;
    const by = { ArrowLeft: [-step, 0], ArrowRight: [step, 0], ArrowUp: [0, -step], ArrowDown: [0, step] }[event.key];
    if (!by) return;
    event.preventDefault();
    one.shape = moved(one.shape, i, ...by);
    this.draw();
    clearTimeout(this.waiting);
    this.waiting = setTimeout(() => this.keep(one), 250);
  }

  keep(one) {
    emitEvent("outline_moved", { number: one.number, ...one.shape });
  }

  tell() {
    const one = this.openings.get(this.chosen);
    if (!one) {
      this.says.textContent = "";
      return;
    }
    const [left, top, right, bottom] = box(one.shape);
    const words = [`roof ${inWords(top)}`, `floor ${inWords(bottom)} below the deck`, `width ${inWords(right - left)} along the bore`];
    if (one.shape.edges) words.push(`radii ${inWords(one.shape.edges[4])} above, ${inWords(one.shape.edges[5])} below`);
    this.says.textContent = `${one.name}: ${words.join(", ")}.`;
  }
}

// --- shapes

function set(element, attributes) {
  for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, value);
}

function box(shape) {
  if (shape.edges) return [shape.edges[0], shape.edges[2], shape.edges[1], shape.edges[3]];
  const xs = shape.points.map((one) => one[0]);
  const ys = shape.points.map((one) => one[1]);
  return [Math.min(...xs), Math.min(...ys), Math.max(...xs), Math.max(...ys)];
}

function outline(shape) {
  if (!shape.edges) return `M${shape.points.map((one) => one.join(" ")).join("L")}Z`;
  const [left, right, roof, floor] = shape.edges;
  const [u, l] = radii(shape);
  return (
    `M${left + u} ${roof}H${right - u}A${u} ${u} 0 0 1 ${right} ${roof + u}V${floor - l}` +
    `A${l} ${l} 0 0 1 ${right - l} ${floor}H${left + l}A${l} ${l} 0 0 1 ${left} ${floor - l}V${roof + u}A${u} ${u} 0 0 1 ${left + u} ${roof}Z`
  );
}

function radii(shape) {
  const [left, right, roof, floor, upper, lower] = shape.edges;
  const most = Math.max(0, 0.5 * Math.min(right - left, floor - roof));
  return [Math.min(Math.max(upper, 0), most), Math.min(Math.max(lower, 0), most)];
}

// Where an outline can be taken hold of: the middles of its edges and its right corners, or its points.
function grips(shape) {
  if (!shape.edges) {
    return shape.points.map(([x, y], i) => ({
      x, y, what: `point ${i + 1}`, value: y, free: true, round: true,
      says: `${inWords(x)} across, ${inWords(y)} below the deck`,
    }));
  }
  const [left, right, roof, floor] = shape.edges;
  const [u, l] = radii(shape);
  const x = (left + right) / 2;
  const y = (roof + floor) / 2;
  const inset = 1 - Math.SQRT1_2;
  const places = [
    [left, y, left, true], [right, y, right, true], [x, roof, roof, false], [x, floor, floor, false],
    [right - inset * u, roof + inset * u, u, true], [right - inset * l, floor - inset * l, l, true],
  ];
  return places.map(([px, py, value, across], i) => ({
    x: px, y: py, value, across, round: i > 3, what: EDGES[i], says: inWords(value),
  }));
}

function moved(shape, i, dx, dy) {
  const whole = (value) => Math.round(value * 1000) / 1000;
  if (!shape.edges) {
    const points = shape.points.map((one) => [...one]);
    points[i] = [whole(points[i][0] + dx), whole(points[i][1] + dy)];
    return { ...shape, points };
  }
  const edges = [...shape.edges];
  if (i < 2) edges[i] += dx;
  else if (i < 4) edges[i] += dy;
  else edges[i] = radii(shape)[i - 4] + (i === 4 ? dy - dx : -dy - dx);
  if (i === 0) edges[0] = Math.min(edges[0], edges[1] - 1);
  if (i === 1) edges[1] = Math.max(edges[1], edges[0] + 1);
  if (i === 2) edges[2] = Math.min(edges[2], edges[3] - 1);
  if (i === 3) edges[3] = Math.max(edges[3], edges[2] + 1);
  if (i > 3) edges[i] = Math.max(0, edges[i]);
  return { ...shape, edges: edges.map(whole) };
}

// The page may bring a picture at any time, and another one later.
function look() {
  const svg = document.querySelector("svg[data-rubbing]");
  if (svg && board?.svg !== svg) board = new Board(svg);
}

new MutationObserver(look).observe(document.documentElement, { childList: true, subtree: true });
look();
window.rubbing = { show: (changed) => board?.show(changed), choose: (number) => board?.choose(number) };
