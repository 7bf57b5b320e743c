// The marks on a flat scan: the deck line's two ends, a place below the exhaust's middle, two marks of a rule.
// A tap lays the chosen mark roughly, in the whole picture; then it is shown large, to be set exactly by tap, drag or
// arrow keys. The server is told where it lies, as shares of width and height, with "scan_marked".
const GRIP_PX = 26; // half of what a finger may hit
const ENLARGED = 8;
const SVG = "http://www.w3.org/2000/svg";
const LINES = [["deck-left", "deck-right", ""], ["rule-one", "rule-other", "6 4"]];

let board = null;

class Board {
  constructor(svg) {
    this.svg = svg;
    const { width, height } = svg.viewBox.baseVal;
    this.size = [width, height];
    this.marks = new Map(JSON.parse(svg.dataset.scan).map((one) => [one.key, one]));
    this.says = svg.parentElement.querySelector(".over-says");
    this.layer = svg.appendChild(document.createElementNS(SVG, "g"));
    const bar = svg.parentElement.querySelector(".over-tools");
    this.buttons = [["", "All of it"], ...[...this.marks.values()].map((one) => [one.key, one.name])].map(([key, words]) => {
      const made = bar.appendChild(document.createElement("button"));
      made.type = "button";
      made.dataset.key = key;
      made.textContent = words;
      made.addEventListener("click", () => this.choose(key));
      return made;
    });
    svg.addEventListener("click", (event) => this.marks.has(this.chosen) && !event.target.closest(".grip") && this.lay(this.at(event)));
    new ResizeObserver(() => this.draw()).observe(svg);
    this.choose([...this.marks.values()].find((one) => !one.at)?.key ?? "", false);
  }

  choose(key, take = true) {
    this.chosen = key;
    this.look();
    if (take) this.layer.querySelector(".grip")?.focus({ preventScroll: true });
  }

  // All of the picture for a mark that is not laid yet, and its surroundings for one that is.
  look() {
    const at = this.marks.get(this.chosen)?.at;
    const part = at ? 1 / ENLARGED : 1;
    const [width, height] = this.size.map((one) => one * part);
    const [x, y] = at ? [at[0] * this.size[0] - width / 2, at[1] * this.size[1] - height / 2] : [0, 0];
    this.svg.setAttribute("viewBox", [x, y, width, height].join(" "));
    this.draw();
  }

  show(places) {
    for (const one of this.marks.values()) one.at = places[one.key] ?? null;
    this.draw();
  }

  get unit() {
    return 1 / (this.svg.getScreenCTM()?.a || 1); // of the picture in one pixel of the screen
  }

  place(one) {
    return [one.at ?? one.start].flatMap(([x, y]) => [x * this.size[0], y * this.size[1]]);
  }

  draw() {
    const focused = this.layer.contains(document.activeElement);
    this.layer.replaceChildren();
    const px = this.unit;
    for (const [from, to, dashes] of LINES) {
      const [first, second] = [this.marks.get(from), this.marks.get(to)];
      if (!first.at || !second.at) continue;
      const [[x1, y1], [x2, y2]] = [this.place(first), this.place(second)];
      this.add(this.layer, "line", { x1, y1, x2, y2, class: "scan-line", "stroke-width": 1.5 * px, "stroke-dasharray": dashes && dashes.split(" ").map((each) => each * px).join(" ") });
    }
    for (const one of this.marks.values()) if (one.at || one.key === this.chosen) this.drawMark(one, px);
    for (const button of this.buttons) {
      const one = this.marks.get(button.dataset.key);
      button.setAttribute("aria-pressed", String(button.dataset.key === this.chosen));
      if (one) button.textContent = `${one.at ? "\u2713 " : ""}${one.name}`;
    }
    if (focused) this.layer.querySelector(".grip")?.focus({ preventScroll: true });
    this.tell();
  }

  drawMark(one, px) {
    const [x, y] = this.place(one);
    const mine = one.key === this.chosen;
    const group = this.add(this.layer, "g", mine ? { class: "grip", tabindex: 0, role: "button", "aria-label": `${one.name}: arrow keys move it, Enter lays it` } : {});
    if (mine) this.add(group, "circle", { cx: x, cy: y, r: GRIP_PX * px, class: "grip-hit" });
    for (const kind of ["halo", "line"]) {
      const reach = (mine ? 22 : 9) * px;
      const d = `M${x - reach} ${y}H${x + reach}M${x} ${y - reach}V${y + reach}`;
      this.add(group, "path", { d, class: `outline-${kind}`, "stroke-width": (kind === "halo" ? 4 : 1.5) * px, "stroke-dasharray": one.at ? "" : `${4 * px} ${3 * px}` });
    }
    if (!mine) return;
    group.addEventListener("pointerdown", (event) => this.drag(event, one));
    group.addEventListener("keydown", (event) => this.key(event, one));
  }

  add(parent, kind, attributes) {
    const made = parent.appendChild(document.createElementNS(SVG, kind));
    for (const [key, value] of Object.entries(attributes)) if (value !== "") made.setAttribute(key, value);
    return made;
  }

  at(event) {
    const { x, y } = new DOMPoint(event.clientX, event.clientY).matrixTransform(this.svg.getScreenCTM().inverse());
    return [x / this.size[0], y / this.size[1]];
  }

  drag(event, one) {
    event.preventDefault();
    this.layer.querySelector(".grip")?.focus({ preventScroll: true });
    const [was, from, start] = [one.at, one.at ?? one.start, this.at(event)];
    const move = (next) => {
      const here = this.at(next);
      one.at = inside([from[0] + here[0] - start[0], from[1] + here[1] - start[1]]);
      this.draw();
    };
    const end = (kept, tapped = null) => {
      for (const [kind, does] of Object.entries(heard)) window.removeEventListener(kind, does);
      const there = tapped ?? one.at;
      one.at = was;
      if (kept && there !== was) this.lay(there);
      else this.draw();
    };
    const still = (last) => Math.hypot(last.clientX - event.clientX, last.clientY - event.clientY) < 4;
    const heard = {
      pointermove: move, pointerup: (last) => end(true, still(last) ? this.at(last) : null), pointercancel: () => end(false),
      keydown: (pressed) => pressed.key === "Escape" && end(false),
    };
    for (const [kind, does] of Object.entries(heard)) window.addEventListener(kind, does);
  }

  key(event, one) {
    if (event.key === "Enter") return this.lay(one.at ?? one.start);
    const by = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[event.key];
    if (!by) return undefined;
    event.preventDefault();
    const step = this.unit * (event.shiftKey ? 20 : 1);
    const moved = inside((one.at ?? one.start).map((share, i) => share + (by[i] * step) / this.size[i]));
    if (!one.at) {
      one.start = moved; // it is laid with Enter: until then nothing is measured by it
      this.draw();
      return undefined;
    }
    one.at = moved;
    this.draw();
    clearTimeout(this.waiting);
    this.waiting = setTimeout(() => this.keep(one), 400);
    return undefined;
  }

  lay(at) {
    const one = this.marks.get(this.chosen);
    const first = !one.at;
    one.at = inside(at);
    if (first) this.look();
    else this.draw();
    this.keep(one);
  }

  keep(one) {
    emitEvent("scan_marked", { key: one.key, at: one.at });
  }

  tell() {
    const one = this.marks.get(this.chosen);
    this.says.textContent = !one ? "" : one.at
      ? `${one.name}: set it exactly. Tap, drag it or use the arrow keys; then choose the next mark.`
      : `${one.name}: tap it in the picture.`;
  }
}

function inside(at) {
  return at.map((one) => Math.min(1, Math.max(0, one)));
}

function look() {
  const svg = document.querySelector("svg[data-scan]");
  if (svg && board?.svg !== svg) board = new Board(svg);
}

new MutationObserver(look).observe(document.documentElement, { childList: true, subtree: true });
look();
window.scan = { show: (places) => board?.show(places) };
