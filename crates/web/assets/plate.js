// Paints a plate and lets it be panned, zoomed and tapped. What there is to paint, and what lies near a tapped place, is
// told by the server; nothing is worked out here but where on the screen it goes.
//
// While the picture moves, what was painted last is moved as a whole; it is painted anew when it rests.

const SETTLES_MS = 90;
const TAP_PX = 8;
const FINGER_PX = 24;
const NUMBERS_MOST = 400;

class Plate {
  constructor(canvas, strokes) {
    this.canvas = canvas;
    this.context = canvas.getContext("2d");
    this.picture = document.createElement("canvas");
    this.strokes = strokes;
    this.chosen = null;
    this.pointers = new Map();
    this.gather();
    this.whole();
    let width = canvas.clientWidth;
    new ResizeObserver(() => {
      if (canvas.clientWidth === width) return;
      width = canvas.clientWidth;
      this.whole();
    }).observe(canvas);
    const dark = matchMedia("(prefers-color-scheme: dark)");
    dark.addEventListener("change", () => this.paint());
    canvas.addEventListener("wheel", (event) => this.wheel(event), { passive: false });
    for (const kind of ["pointerdown", "pointermove", "pointerup", "pointercancel"]) {
      canvas.addEventListener(kind, (event) => this[kind](event));
    }
    canvas.addEventListener("keydown", (event) => this.keydown(event));
    addEventListener("beforeprint", () => this.paint());
  }

  // One path for each stage: ten thousand cuts are painted with a few strokes.
  gather() {
    this.stages = {};
    this.cuts = new Map();
    for (const band of this.strokes.bands) {
      const path = new Path2D(band.path);
      (this.stages[band.stage] ??= new Path2D()).addPath(path);
      const own = this.cuts.get(band.cut) ?? new Path2D();
      own.addPath(path);
      this.cuts.set(band.cut, own);
    }
    const all = (paths) => {
      const one = new Path2D();
      for (const path of paths) one.addPath(new Path2D(path));
      return one;
    };
    this.travel = all(this.strokes.travel);
    this.plate = this.strokes.plate && new Path2D(this.strokes.plate);
    this.holes = all(this.strokes.holes);
    this.pieces = {};
    for (const [path, rest] of this.strokes.pieces) (this.pieces[rest] ??= new Path2D()).addPath(new Path2D(path));
  }

  // A run as it unfolds, told by the server; the plate is then shown as it is at a time of it.
  unfolds(run) {
    this.run = run;
    this.bands = new Map();
    for (const band of this.strokes.bands) this.bands.set(band.cut, { ...band, path: new Path2D(band.path) });
    this.loose = run.loose.map(([at, path]) => [at, new Path2D(path)]);
  }

  // What is made, being made and loose at a time.
  then(at_s) {
    const stages = { "to-cut": new Path2D(), cut: new Path2D(), "to-mark": new Path2D(), marked: new Path2D(), loose: new Path2D() };
    for (const [number, times] of this.run.cuts) {
      const band = this.bands.get(number);
      if (!band) continue;
      const marks = band.stage.includes("mark");
      const last = times.length - 1;
      if (at_s >= times[last]) {
        stages[marks ? "marked" : "cut"].addPath(band.path);
        continue;
      }
      stages[marks ? "to-mark" : "to-cut"].addPath(band.path);
      if (at_s <= times[0] || marks) continue;
      const k = times.findLastIndex((time) => time <= at_s);
      const share = (k + (at_s - times[k]) / Math.max(times[k + 1] - times[k], 1e-9)) / last;
      stages.running = { path: band.path, made_mm: share * band.length, length_mm: band.length };
    }
    for (const [at, path] of this.loose) if (at <= at_s) stages.loose.addPath(path);
    return stages;
  }

  ink(name) {
    return getComputedStyle(this.canvas).getPropertyValue("--ink-" + name).trim();
  }

  // As high as the plate is at this width, within reason.
  fit() {
    const [x0, y0, x1, y1] = this.strokes.bounds;
    const width = this.canvas.clientWidth;
    const height = (width - 44) * (Math.max(y1 - y0, 1) / Math.max(x1 - x0, 1)) + 44;
    const most = Math.max(240, Math.min(innerHeight * 0.7, 720));
    this.canvas.style.height = `${Math.round(Math.min(Math.max(height, 180), most))}px`;
  }

  // Shows all of it.
  whole() {
    this.fit();
    const box = this.canvas.getBoundingClientRect();
    if (!box.width || !box.height) return;
    const density = Math.min(devicePixelRatio || 1, 3);
    this.density = density;
    for (const canvas of [this.canvas, this.picture]) {
      canvas.width = Math.round(box.width * density);
      canvas.height = Math.round(box.height * density);
    }
    const [x0, y0, x1, y1] = this.strokes.bounds;
    const rim = 22 * density;
    const { width, height } = this.canvas;
    const scale = Math.min((width - 2 * rim) / Math.max(x1 - x0, 1), (height - 2 * rim) / Math.max(y1 - y0, 1));
    this.least = scale / 2;
    this.most = Math.max(60 * density, scale);
    this.view = { scale, x: width / 2 - (scale * (x0 + x1)) / 2, y: height / 2 + (scale * (y0 + y1)) / 2 };
    this.paint();
  }

  // From the plate to the screen.
  at([x, y]) {
    return [this.view.x + x * this.view.scale, this.view.y - y * this.view.scale];
  }

  // From the screen to the plate.
  back(px, py) {
    return [(px - this.view.x) / this.view.scale, (this.view.y - py) / this.view.scale];
  }

  paint() {
    clearTimeout(this.settling);
    const c = this.picture.getContext("2d");
    const { scale } = this.view;
    const mm = (px) => (px * this.density) / scale;
    const ink = (name) => this.ink(name);
    c.setTransform(1, 0, 0, 1, 0, 0);
    c.fillStyle = ink(this.plate ? "page-fill" : "plate-fill");
    c.fillRect(0, 0, this.picture.width, this.picture.height);
    c.setTransform(scale, 0, 0, -scale, this.view.x, this.view.y);
    c.lineCap = c.lineJoin = "round";
    const stroke = (path, name, width, dash = []) => {
      if (!path) return;
      c.strokeStyle = ink(name);
      c.lineWidth = width;
      c.setLineDash(dash);
      c.stroke(path);
      c.setLineDash([]);
    };
    if (this.plate) {
      c.fillStyle = ink("plate-fill");
      c.fill(this.plate);
      stroke(this.plate, "rim-stroke", mm(1.6));
      c.fillStyle = ink("page-fill");
      c.fill(this.holes);
      stroke(this.holes, "rim-stroke", mm(1.6));
    }
    for (const [rest, path] of Object.entries(this.pieces)) {
      c.fillStyle = rest === "gone" ? ink("void-fill") : this.hatch(c, rest);
      c.fill(path);
      if (rest === "gone") stroke(path, "void-stroke", mm(1), [mm(3)]);
    }
    const kerf = Math.max(this.strokes.kerf, mm(2.6));
    const stages = this.at_s === undefined ? this.stages : this.then(this.at_s);
    if (stages.loose) {
      c.fillStyle = this.hatch(c, "lies");
      c.fill(stages.loose);
    }
    stroke(stages["to-cut"], "edge-stroke", kerf);
    stroke(stages["to-cut"], "core-stroke", kerf - mm(1.8));
    stroke(stages.groove, "cut-stroke", kerf);
    stroke(stages.groove, "core-stroke", kerf * 0.34, [mm(7)]);
    stroke(stages.cut, "cut-stroke", kerf);
    if (stages.running) {
      c.lineCap = "butt";
      stroke(stages.running.path, "cut-stroke", kerf, [stages.running.made_mm, stages.running.length_mm * 2 + 1]);
      c.lineCap = "round";
    }
    for (const [path, width] of this.strokes.strays) stroke(new Path2D(path), "cut-stroke", Math.max(width, kerf));
    stroke(stages["to-mark"], "mark-stroke", mm(1.1), [mm(5), mm(2.5)]);
    stroke(stages.marked, "mark-stroke", mm(1.6));
    stroke(this.travel, "travel-stroke", mm(1), [mm(9), mm(3), mm(1.5), mm(3)]);
    if (this.strokes.lead) stroke(new Path2D(this.strokes.lead), "way-stroke", mm(2.2));
    if (this.chosen !== null && this.cuts.has(this.chosen)) {
      stroke(this.cuts.get(this.chosen), "restart-stroke", kerf + mm(4));
      stroke(this.cuts.get(this.chosen), "core-stroke", kerf);
    }
    c.setTransform(1, 0, 0, 1, 0, 0);
    this.marks(c);
    this.painted = { ...this.view };
    this.show();
  }

  hatch(c, rest) {
    const tile = document.createElement("canvas");
    const size = Math.round(8 * this.density);
    tile.width = tile.height = size;
    const t = tile.getContext("2d");
    t.strokeStyle = this.ink("hatch-stroke");
    t.lineWidth = 1.2 * this.density;
    t.beginPath();
    for (const k of [-1, 0, 1]) {
      t.moveTo(k * size, size);
      t.lineTo((k + 1) * size, 0);
      if (rest === "stands") {
        t.moveTo(k * size, 0);
        t.lineTo((k + 1) * size, size);
      }
    }
    t.stroke();
    const pattern = c.createPattern(tile, "repeat");
    pattern.setTransform(new DOMMatrix([1 / this.view.scale, 0, 0, -1 / this.view.scale, 0, 0]));
    return pattern;
  }

  // Rings, numbers, flags, stop and restart keep their size on the screen.
  marks(c) {
    const d = this.density;
    const { width, height } = this.picture;
    const shown = ([x, y]) => x > -20 * d && y > -20 * d && x < width + 20 * d && y < height + 20 * d;
    const text = (words, x, y, name, size = 12, bold = false) => {
      c.font = `${bold ? "bold " : ""}${size * d}px system-ui, sans-serif`;
      c.lineWidth = 3 * d;
      c.lineJoin = "round";
      c.strokeStyle = this.ink("halo-stroke");
      c.strokeText(words, x, y);
      c.fillStyle = this.ink(name);
      c.fillText(words, x, y);
    };
    c.textAlign = "center";
    c.textBaseline = "middle";
    const parts = this.strokes.parts.filter(([, at]) => shown(this.at(at)));
    if (parts.length <= NUMBERS_MOST) for (const [number, at] of parts) text("P" + number, ...this.at(at), "part-fill", 12);
    const pierces = this.strokes.pierces.filter(([x, y]) => shown(this.at([x, y])));
    const ring = pierces.length > 2000 ? 1.5 : pierces.length > 300 ? 2.5 : 4;
    for (const made of [false, true]) {
      c.beginPath();
      for (const [x, y, , is] of pierces) {
        if (is !== made) continue;
        const [px, py] = this.at([x, y]);
        c.moveTo(px + ring * d, py);
        c.arc(px, py, ring * d, 0, 7);
      }
      c.fillStyle = this.ink(made ? "pierced-fill" : "ring-fill");
      c.strokeStyle = this.ink("ring-stroke");
      c.lineWidth = 1.5 * d;
      c.fill();
      c.stroke();
    }
    c.textAlign = "left";
    const taken = new Set();
    if (pierces.length <= NUMBERS_MOST) {
      for (const [x, y, number] of pierces) {
        const [px, py] = this.at([x, y]);
        const cell = Math.round(px / (26 * d)) + ":" + Math.round(py / (15 * d));
        if (taken.has(cell)) continue;
        taken.add(cell);
        text(String(number), px + 7 * d, py - 6 * d, "number-fill", 11);
      }
    }
    for (const [number, level, places] of this.strokes.flags) {
      for (const place of places.slice(0, 4)) {
        const at = this.at(place);
        if (shown(at)) this.flag(c, at, number, level);
      }
    }
    if (this.strokes.restart) this.pennant(c, this.at(this.strokes.restart));
    if (this.strokes.stop) this.broken(c, this.at(this.strokes.stop));
    if (this.end) this.broken(c, this.at(this.end));
  }

  flag(c, [x, y], number, level) {
    const d = this.density;
    c.strokeStyle = this.ink(level + "-stroke");
    c.lineWidth = 1.5 * d;
    c.beginPath();
    c.moveTo(x, y);
    c.lineTo(x, y - 22 * d);
    c.stroke();
    c.beginPath();
    c.rect(x, y - 22 * d, (8 + 7 * String(number).length) * d, 14 * d);
    c.fillStyle = this.ink(level + "-fill");
    c.fill();
    c.stroke();
    c.font = `bold ${10 * d}px system-ui, sans-serif`;
    c.fillStyle = this.ink(`on-${level}-fill`);
    c.textAlign = "left";
    c.fillText(number, x + 4 * d, y - 15 * d);
  }

  broken(c, [x, y]) {
    const d = this.density;
    c.lineCap = "butt";
    c.strokeStyle = this.ink("halo-stroke");
    c.lineWidth = 8 * d;
    c.beginPath();
    c.arc(x, y, 13 * d, 0, 7);
    c.stroke();
    c.strokeStyle = this.ink("stop-stroke");
    c.lineWidth = 4 * d;
    c.setLineDash([13.6 * d, 6.8 * d]);
    c.beginPath();
    c.arc(x, y, 13 * d, 0, 2 * Math.PI);
    c.stroke();
    c.setLineDash([]);
  }

  pennant(c, [x, y]) {
    const d = this.density;
    c.fillStyle = c.strokeStyle = this.ink("restart-fill");
    c.lineWidth = 2.5 * d;
    c.beginPath();
    c.moveTo(x, y);
    c.lineTo(x, y - 34 * d);
    c.stroke();
    c.beginPath();
    c.moveTo(x, y - 34 * d);
    c.lineTo(x + 20 * d, y - 27 * d);
    c.lineTo(x, y - 20 * d);
    c.fill();
  }

  // What was painted last, moved to where the view is now.
  show() {
    const c = this.context;
    const { view, painted } = this;
    const k = view.scale / painted.scale;
    c.setTransform(1, 0, 0, 1, 0, 0);
    c.fillStyle = this.ink("page-fill");
    c.fillRect(0, 0, this.canvas.width, this.canvas.height);
    c.setTransform(k, 0, 0, k, view.x - painted.x * k, view.y - painted.y * k);
    c.drawImage(this.picture, 0, 0);
  }

  moved() {
    if (!this.frame) {
      this.frame = requestAnimationFrame(() => {
        this.frame = 0;
        this.show();
      });
    }
    clearTimeout(this.settling);
    this.settling = setTimeout(() => this.paint(), SETTLES_MS);
  }

  pan(dx, dy) {
    this.view.x += dx;
    this.view.y += dy;
    this.moved();
  }

  zoom(by, px, py) {
    const scale = Math.min(Math.max(this.view.scale * by, this.least), this.most);
    const k = scale / this.view.scale;
    this.view = { scale, x: px - (px - this.view.x) * k, y: py - (py - this.view.y) * k };
    this.moved();
  }

  middle() {
    return [this.canvas.width / 2, this.canvas.height / 2];
  }

  place(event) {
    const box = this.canvas.getBoundingClientRect();
    return [(event.clientX - box.left) * this.density, (event.clientY - box.top) * this.density];
  }

  wheel(event) {
    event.preventDefault();
    this.zoom(Math.exp(-event.deltaY * (event.deltaMode ? 0.05 : 0.0016)), ...this.place(event));
  }

  pointerdown(event) {
    this.canvas.setPointerCapture(event.pointerId);
    this.pointers.set(event.pointerId, this.place(event));
    this.tapped = this.pointers.size === 1 ? this.place(event) : null;
  }

  pointermove(event) {
    const before = this.pointers.get(event.pointerId);
    if (!before) return;
    const now = this.place(event);
    const others = [...this.pointers].filter(([id]) => id !== event.pointerId);
    this.pointers.set(event.pointerId, now);
    if (this.tapped && Math.hypot(now[0] - this.tapped[0], now[1] - this.tapped[1]) < TAP_PX * this.density) return;
    this.tapped = null;
    if (others.length === 1) {
      const other = others[0][1];
      const far = (p) => Math.max(Math.hypot(p[0] - other[0], p[1] - other[1]), 1);
      this.pan((now[0] - before[0]) / 2, (now[1] - before[1]) / 2);
      this.zoom(far(now) / far(before), (now[0] + other[0]) / 2, (now[1] + other[1]) / 2);
    } else if (others.length === 0) {
      this.pan(now[0] - before[0], now[1] - before[1]);
    }
  }

  pointerup(event) {
    this.pointers.delete(event.pointerId);
    if (this.tapped && this.canvas.dataset.tap) this.tap(this.tapped);
    this.tapped = null;
  }

  pointercancel(event) {
    this.pointers.delete(event.pointerId);
    this.tapped = null;
  }

  keydown(event) {
    const step = 60 * this.density;
    const does = {
      ArrowLeft: () => this.pan(step, 0),
      ArrowRight: () => this.pan(-step, 0),
      ArrowUp: () => this.pan(0, step),
      ArrowDown: () => this.pan(0, -step),
      "+": () => this.zoom(1.4, ...this.middle()),
      "-": () => this.zoom(1 / 1.4, ...this.middle()),
      0: () => this.whole(),
    }[event.key];
    if (!does) return;
    event.preventDefault();
    does();
  }

  // A tapped place: the server says what lies near it, the field is filled in, and the person sends it.
  async tap([px, py]) {
    const [x, y] = this.back(px, py);
    const within = (FINGER_PX * this.density) / this.view.scale;
    const asked = new URLSearchParams({ x, y, within });
    const sent = await fetch(`${this.canvas.dataset.near}?${asked}`);
    if (!sent.ok) return;
    const found = await sent.json();
    if (this.canvas.dataset.tap === "cut") {
      if (!found.length) return;
      fill("cut", found[0].cut);
      this.chosen = found[0].cut;
    } else {
      const of = Number(document.querySelector("input[name=of]")?.value);
      const own = found.find((near) => !of || near.cut === of);
      if (!own) return;
      fill("kerf_to", `${own.along.toFixed(1)} mm`);
      this.end = [x, y];
    }
    this.paint();
  }
}

function fill(name, value) {
  const field = document.querySelector(`input[name=${name}]:not([type=hidden])`);
  if (field) field.value = value;
}

for (const canvas of document.querySelectorAll("canvas[data-strokes]")) {
  const sent = await fetch(canvas.dataset.strokes);
  if (!sent.ok) continue;
  const strokes = await sent.json();
  const figure = canvas.closest("figure");
  canvas.hidden = false;
  figure.querySelector(".still").hidden = true;
  const tools = figure.querySelector(".tools");
  tools.hidden = false;
  const plate = new Plate(canvas, strokes);
  tools.addEventListener("click", (event) => {
    const does = {
      in: () => plate.zoom(1.5, ...plate.middle()),
      out: () => plate.zoom(1 / 1.5, ...plate.middle()),
      all: () => plate.whole(),
    }[event.target.dataset.zoom];
    if (does) does();
  });
  const slider = figure.parentElement.querySelector("[data-run]");
  if (slider) unfold(plate, slider);
}

// The slider over the time of a run.
async function unfold(plate, slider) {
  const sent = await fetch(slider.dataset.run);
  if (!sent.ok) return;
  const run = await sent.json();
  if (!(run.whole > 0)) return;
  plate.unfolds(run);
  slider.hidden = false;
  const [input, output] = [slider.querySelector("input"), slider.querySelector("output")];
  input.addEventListener("input", () => {
    const at_s = (run.whole * input.value) / input.max;
    const minutes = Math.floor(at_s / 60);
    output.value = `${minutes ? minutes + " min " : ""}${Math.floor(at_s % 60)} s`;
    input.setAttribute("aria-valuetext", output.value);
    plate.at_s = at_s > 0 ? at_s : undefined;
    if (!plate.asked) {
      plate.asked = requestAnimationFrame(() => {
        plate.asked = 0;
        plate.paint();
      });
    }
  });
}
