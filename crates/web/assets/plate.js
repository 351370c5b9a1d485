// Paints a plate and lets it be panned, zoomed and tapped. What there is to paint, and what lies near a tapped place, is
// told by the server; nothing is worked out here but where on the screen it goes.
//
// While the picture moves, what was painted last is moved as a whole; it is painted anew when it rests.

const SETTLES_MS = 90;
const TAP_PX = 8;
const FINGER_PX = 24;
const NUMBERS_MOST = 400;
// A contour smaller than this on the screen shows no shape of its own.
const SHAPE_PX = 7;
// More ways than these run into each other, and are thin lines.
const TICKED_MOST = 1500;
// What is off by less than this on the screen is not seen.
const SEEN_PX = 0.8;
// What takes no longer to paint is painted in every frame.
const QUICK_MS = 10;

// Longest residual and largest ellipse as painted, and a distance too small to set their scale, in millimetres.
const RESIDUAL_PX = 42;
const LANDING_PX = 24;
const SEEN_MM = 0.001;

// The largest of 1, 2 and 5 times a power of ten that is not larger.
function roundBelow(value) {
  const power = 10 ** Math.floor(Math.log10(Math.max(value, 1)));
  return [5, 2, 1].map((times) => times * power).find((round) => round <= value) ?? 1;
}

// Where on the screen something is written already, in cells.
class Room {
  constructor(cell) {
    this.cell = cell;
    this.taken = new Set();
  }

  // Takes a box if nothing lies in it yet.
  take(left, top, width, height) {
    const cells = [];
    const cell = (value) => Math.floor(value / this.cell);
    for (let x = cell(left); x <= cell(left + width); x += 1) {
      for (let y = cell(top); y <= cell(top + height); y += 1) cells.push(`${x}:${y}`);
    }
    if (cells.some((key) => this.taken.has(key))) return false;
    for (const key of cells) this.taken.add(key);
    return true;
  }
}

class Plate {
  constructor(canvas, strokes) {
    this.canvas = canvas;
    this.context = canvas.getContext("2d");
    this.picture = document.createElement("canvas");
    this.strokes = strokes;
    // The cut that is spoken of stands out.
    this.chosen = Number(canvas.dataset.of) || null;
    this.pointers = new Map();
    this.gather();
    this.whole();
    this.around(canvas.closest("[data-around]")?.dataset.around);
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

  // Paths are made when they are first painted: of ten thousand contours few are ever looked at closely.
  gather() {
    for (const band of this.strokes.bands) {
      band.shape = () => (band.made ??= new Path2D(band.path));
      band.far = () => (band.roughly ??= new Path2D(band.coarse ?? band.path));
    }
    const all = (paths) => new Path2D(paths.join(""));
    this.travel = all(this.strokes.travel);
    this.plate = this.strokes.plate && new Path2D(this.strokes.plate);
    this.holes = all(this.strokes.holes);
    this.pieces = {};
    for (const [path, rest] of this.strokes.pieces) (this.pieces[rest] ??= new Path2D()).addPath(new Path2D(path));
  }

  // A run as it unfolds, told by the server; the plate is then shown as it is at a time of it.
  unfolds(run) {
    this.times = new Map(run.cuts);
    this.loose = run.loose.map(([at, path]) => ({ at, path, shape: null }));
  }

  // The stage of a band: as it is, or as it is at a time of the run.
  stage(band) {
    if (this.at_s === undefined) return band.stage;
    const times = this.times.get(band.cut);
    const marks = band.stage.includes("mark");
    if (times && this.at_s >= times.at(-1)) return marks ? "marked" : "cut";
    return marks ? "to-mark" : "to-cut";
  }

  // How far along its path a band is made whose cut is running at the time shown; 0 if it is not.
  made(band) {
    const times = this.at_s === undefined ? undefined : this.times.get(band.cut);
    if (!times || this.at_s <= times[0] || this.at_s >= times.at(-1) || band.stage.includes("mark")) return 0;
    const k = times.findLastIndex((time) => time <= this.at_s);
    const share = (k + (this.at_s - times[k]) / Math.max(times[k + 1] - times[k], 1e-9)) / (times.length - 1);
    return share * band.length;
  }

  // What is in sight, one path a stage, each cut as finely as it can be seen: one too small to show its shape is round.
  inSight() {
    const sight = { stages: {}, running: [], loose: null };
    const [left, top] = this.back(0, 0);
    const [right, bottom] = this.back(this.picture.width, this.picture.height);
    const rim = this.strokes.kerf + (4 * this.density) / this.view.scale;
    const small = (SHAPE_PX * this.density) / this.view.scale;
    const isFar = this.strokes.coarse * this.view.scale < SEEN_PX;
    for (const band of this.strokes.bands) {
      const [x0, y0, x1, y1] = band.box;
      if (x1 < left - rim || x0 > right + rim || y1 < bottom - rim || y0 > top + rim) continue;
      const path = (sight.stages[this.stage(band)] ??= new Path2D());
      if (x1 - x0 < small && y1 - y0 < small) {
        path.moveTo(x1, (y0 + y1) / 2);
        path.ellipse((x0 + x1) / 2, (y0 + y1) / 2, (x1 - x0) / 2, (y1 - y0) / 2, 0, 0, 7);
      } else {
        path.addPath(isFar ? band.far() : band.shape());
      }
      const made_mm = this.made(band);
      if (made_mm > 0) sight.running.push({ path: band.shape(), made_mm, length_mm: band.length });
    }
    if (this.at_s !== undefined) {
      sight.loose = new Path2D();
      for (const piece of this.loose) {
        if (piece.at <= this.at_s) sight.loose.addPath((piece.shape ??= new Path2D(piece.path)));
      }
    }
    return sight;
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

  // Shows a box, told by the server, with some plate round it.
  around(box) {
    if (!box || !this.view) return;
    const [x0, y0, x1, y1] = box.split(" ").map(Number);
    const { width, height } = this.canvas;
    const scale = Math.min((0.7 * width) / Math.max(x1 - x0, 1), (0.7 * height) / Math.max(y1 - y0, 1), this.most);
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
    const begun = performance.now();
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
    const { stages, running, loose } = this.inSight();
    if (loose) {
      c.fillStyle = this.hatch(c, "lies");
      c.fill(loose);
    }
    stroke(stages["to-cut"], "edge-stroke", kerf);
    stroke(stages["to-cut"], "core-stroke", kerf - mm(1.8));
    stroke(stages.groove, "cut-stroke", kerf);
    stroke(stages.groove, "core-stroke", kerf * 0.34, [mm(7)]);
    stroke(stages.cut, "cut-stroke", kerf);
    c.lineCap = "butt";
    for (const { path, made_mm, length_mm } of running) stroke(path, "cut-stroke", kerf, [made_mm, length_mm * 2 + 1]);
    c.lineCap = "round";
    for (const [path, width] of this.strokes.strays) stroke(new Path2D(path), "cut-stroke", Math.max(width, kerf));
    stroke(stages["to-mark"], "mark-stroke", mm(1.1), [mm(5), mm(2.5)]);
    stroke(stages.marked, "mark-stroke", mm(1.6));
    const ticks = this.strokes.travel.length > TICKED_MOST ? [] : [mm(9), mm(3), mm(1.5), mm(3)];
    stroke(this.travel, "travel-stroke", mm(ticks.length ? 1 : 0.4), ticks);
    if (this.strokes.lead) stroke(new Path2D(this.strokes.lead), "way-stroke", mm(2.2));
    for (const band of this.strokes.bands) {
      if (band.cut !== this.chosen) continue;
      stroke(band.shape(), "restart-stroke", kerf + mm(4));
      stroke(band.shape(), "core-stroke", kerf);
    }
    c.setTransform(1, 0, 0, 1, 0, 0);
    this.marks(c);
    this.painted = { ...this.view };
    this.show();
    this.cost_ms = performance.now() - begun;
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
    c.textBaseline = "middle";
    const pierces = this.strokes.pierces.filter(([x, y]) => shown(this.at([x, y])));
    const ring = pierces.length > 300 ? 2.5 : 4;
    const dots = pierces.length > 2000;
    for (const made of [false, true]) {
      c.beginPath();
      for (const [x, y, , is] of pierces) {
        if (is !== made) continue;
        const [px, py] = this.at([x, y]);
        if (dots) {
          c.rect(px - d, py - d, 2 * d, 2 * d);
          continue;
        }
        c.moveTo(px + ring * d, py);
        c.arc(px, py, ring * d, 0, 7);
      }
      c.fillStyle = this.ink(made ? "pierced-fill" : "ring-fill");
      c.strokeStyle = this.ink("ring-stroke");
      c.lineWidth = 1.5 * d;
      c.fill();
      if (!dots) c.stroke();
    }
    // Nothing is written over anything else: flags come first, then parts, then cuts where there is room beside their ring.
    const room = new Room(6 * d);
    for (const at of [this.strokes.stop, this.strokes.restart].filter(Boolean).map((at) => this.at(at))) {
      room.take(at[0] - 15 * d, at[1] - 15 * d, 30 * d, 30 * d);
    }
    // Where a question is answered by a tap, what the checks found is in the way.
    for (const [number, level, places] of this.canvas.dataset.tap ? [] : this.strokes.flags) {
      for (const place of places.slice(0, 4)) {
        const at = this.at(place);
        if (!shown(at)) continue;
        this.flag(c, at, number, level);
        room.take(at[0], at[1] - 22 * d, (8 + 7 * String(number).length) * d, 14 * d);
      }
    }
    if (this.strokes.found) this.found(c, text, room);
    c.textAlign = "center";
    const parts = this.strokes.parts.filter(([, at]) => shown(this.at(at)));
    if (parts.length <= NUMBERS_MOST) {
      for (const [number, at] of parts) {
        const [words, [x, y], wide] = ["P" + number, this.at(at), (4 + 8 * String(number).length) * d];
        if (room.take(x - wide, y - 7 * d, 2 * wide, 14 * d)) text(words, x, y, "part-fill", 12);
      }
    }
    c.textAlign = "left";
    if (pierces.length <= NUMBERS_MOST) {
      for (const [x, y, number] of pierces) {
        const [px, py] = this.at([x, y]);
        const wide = (2 + 7 * String(number).length) * d;
        const beside = [[px + 6 * d, py - 12 * d], [px - 6 * d - wide, py - 12 * d], [px + 6 * d, py], [px - 6 * d - wide, py]];
        const free = beside.find(([left, top]) => room.take(left, top, wide, 12 * d));
        if (free) text(String(number), free[0], free[1] + 6 * d, "number-fill", 11);
      }
    }
    if (this.strokes.restart) this.pennant(c, this.at(this.strokes.restart));
    for (const at of this.strokes.second) this.pennant(c, this.at(at));
    if (this.strokes.stop) this.broken(c, this.at(this.strokes.stop));
    if (this.end) this.broken(c, this.at(this.end));
  }

  // Where a plate that moved was measured: a cross, and a line to where it was found; ellipses within which what is left
  // lands, a join with its tolerance dotted round it; diamonds at what to measure next.
  found(c, text, room) {
    const { sights, landings, next, tolerance, longest, widest } = this.strokes.found;
    const d = this.density;
    const larger = (px, mm) => roundBelow((px * d) / this.view.scale / Math.max(mm, SEEN_MM));
    const times = { off: larger(RESIDUAL_PX, longest), lands: larger(LANDING_PX, widest) };
    const line = (name, width, dash = []) => {
      c.strokeStyle = this.ink(name);
      c.lineWidth = width * d;
      c.setLineDash(dash.map((px) => px * d));
    };
    const taken = [];
    for (const [at, [most, least], angle, isJoin] of landings) {
      const [x, y] = this.at(at);
      const k = times.lands * this.view.scale;
      // Where ellipses would cover one another the worst stay.
      if (!isJoin && taken.some(([a, b, other]) => Math.hypot(x - a, y - b) <= most * k + other)) continue;
      taken.push([x, y, most * k]);
      line("landing-stroke", 1.5);
      c.beginPath();
      c.ellipse(x, y, most * k, Math.max(least * k, 0.5 * d), -angle, 0, 7);
      c.stroke();
      if (!isJoin) continue;
      c.fillStyle = this.ink("landing-join-fill");
      c.beginPath();
      c.arc(x, y, 2.5 * d, 0, 7);
      c.fill();
      line("landing-stroke", 1, [1.5, 3]);
      c.beginPath();
      c.arc(x, y, tolerance * k, 0, 7);
      c.stroke();
    }
    c.textAlign = "center";
    sights.forEach(([at, [dx, dy], leftOut], k) => {
      const [x, y] = this.at(at);
      const tip = [x + dx * times.off * this.view.scale, y - dy * times.off * this.view.scale];
      line("sight-stroke", 1.5);
      c.beginPath();
      for (const [sx, sy] of [[1, 1], [1, -1]]) {
        c.moveTo(x - 5 * sx * d, y - 5 * sy * d);
        c.lineTo(x + 5 * sx * d, y + 5 * sy * d);
      }
      c.stroke();
      line("sight-stroke", 2, leftOut ? [4, 3] : []);
      c.beginPath();
      c.moveTo(x, y);
      c.lineTo(...tip);
      c.stroke();
      c.setLineDash([]);
      c.beginPath();
      c.arc(...tip, (leftOut ? 3.6 : 2.6) * d, 0, 7);
      c.fillStyle = this.ink(leftOut ? "plate-fill" : "sight-dot-fill");
      c.fill();
      c.stroke();
      const wide = (10 + 7 * String(k + 1).length) * d;
      const beside = [[1, -1], [-1, -1], [1, 1], [-1, 1]].map(([sx, sy]) => [x + sx * (8 * d + wide / 2), y + sy * 12 * d]);
      const free = beside.find(([mx, my]) => room.take(mx - wide / 2, my - 6 * d, wide, 12 * d)) ?? beside[0];
      text(`m${k + 1}`, ...free, "sight-text-fill", 11, true);
    });
    next.forEach((at, k) => {
      const [x, y] = this.at(at);
      line("next-stroke", 1.6);
      c.beginPath();
      for (const [dx, dy] of [[0, -10], [10, 0], [0, 10], [-10, 0]]) c.lineTo(x + dx * d, y + dy * d);
      c.closePath();
      c.stroke();
      text(String(k + 1), x, y, "sight-text-fill", 11, true);
    });
    c.setLineDash([]);
    const told = [];
    const as = (times) => (times === 1 ? "as large as they are" : `${times} times as large`);
    if (sights.length) told.push(`Lines from ×, off the fit: ${as(times.off)}.`);
    if (landings.length) told.push(`Ellipses, where cuts land 95 times in 100: ${as(times.lands)}.`);
    const scale = this.canvas.closest("figure").querySelector(".scale");
    scale.textContent = told.join(" ");
    scale.hidden = !told.length;
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
        // What is painted within a frame is painted anew in each; else it follows when the plate rests.
        if (this.cost_ms < QUICK_MS) this.paint();
        else this.show();
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
    const { near, tap, of } = this.canvas.dataset;
    if (tap === "there") {
      location.href = `${near}${near.includes("?") ? "&" : "?"}${asked}`;
      return;
    }
    const sent = await fetch(`${near}?${asked}`);
    if (!sent.ok) return;
    const found = await sent.json();
    if (tap === "cut") {
      if (!found.length) return;
      fill("cut", found[0].cut);
      this.chosen = found[0].cut;
    } else {
      const own = found.find((near) => !of || near.cut === Number(of));
      if (!own) return;
      fill("along", own.told);
      this.end = [x, y];
    }
    this.paint();
  }
}

// The field that was used last takes what was tapped, else the first that is empty.
let used = null;
addEventListener("focusin", (event) => {
  if (event.target.dataset?.takes) used = event.target;
});

function fill(kind, value) {
  const fields = [...document.querySelectorAll(`input[data-takes=${kind}]`)];
  const field = fields.find((field) => field === used) ?? fields.find((field) => !field.value) ?? fields[0];
  if (!field) return;
  field.value = value;
  used = null;
}

for (const canvas of document.querySelectorAll("canvas[data-strokes]")) {
  const sent = await fetch(canvas.dataset.strokes);
  const figure = canvas.closest("figure");
  if (!sent.ok) {
    figure.querySelector(".still").hidden = false;
    continue;
  }
  const strokes = await sent.json();
  canvas.hidden = false;
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
