// The view: which part of the plane the frame shows, and how hands move it.

class View {
  // A view shows a plane in a canvas; shown is told after each change.
  constructor(canvas, plane, shown) {
    this.canvas = canvas;
    this.plane = plane;
    this.shown = shown;
    this.sharp = 1; // dots of the canvas in a point of the page
    this.width = this.height = 1;
    this.all();
  }

  // all shows what the map is about, and goes on doing so until it is moved.
  all() {
    this.show(this.plane.view);
    this.whole = true;
  }

  // show fits a box of the plane into the frame.
  show([west, south, east, north]) {
    this.x = (west + east) / 2;
    this.y = (south + north) / 2;
    this.perPoint = Math.max((east - west) / this.width, (north - south) / this.height); // metres in a point of the page
    this.bound();
  }

  // shows returns the box of the plane that the frame shows.
  shows() {
    return [...this.place(0, this.height), ...this.place(this.width, 0)];
  }

  // resize takes on the size of the frame, keeping the middle and the scale. It wipes the canvas.
  resize(sharp) {
    const box = this.canvas.getBoundingClientRect();
    this.width = Math.max(box.width, 1);
    this.height = Math.max(box.height, 1);
    this.sharp = sharp || Math.min(window.devicePixelRatio || 1, 3);
    this.canvas.width = Math.round(this.width * this.sharp);
    this.canvas.height = Math.round(this.height * this.sharp);
    if (this.whole) this.all();
  }

  // bound keeps the middle on the plane and the scale within reason.
  bound() {
    const p = this.plane;
    this.x = Math.min(Math.max(this.x, 0), p.width_m);
    this.y = Math.min(Math.max(this.y, 0), p.height_m);
    const most = 1.6 * Math.max(p.width_m / this.width, p.height_m / this.height);
    this.perPoint = Math.min(Math.max(this.perPoint, 0.4), most);
  }

  // point returns where a place of the plane is in the frame, and place the other way round.
  point(x, y) {
    return [this.width / 2 + (x - this.x) / this.perPoint, this.height / 2 - (y - this.y) / this.perPoint];
  }

  place(px, py) {
    return [this.x + (px - this.width / 2) * this.perPoint, this.y - (py - this.height / 2) * this.perPoint];
  }

  move(dx, dy) {
    this.whole = false;
    this.x -= dx * this.perPoint;
    this.y += dy * this.perPoint;
    this.bound();
    this.shown();
  }

  // zoom changes the scale about a point of the frame, which keeps its place.
  zoom(factor, px = this.width / 2, py = this.height / 2) {
    const [x, y] = this.place(px, py);
    this.whole = false;
    this.perPoint /= factor;
    this.bound();
    const [nx, ny] = this.place(px, py);
    this.x += x - nx;
    this.y += y - ny;
    this.bound();
    this.shown();
  }

  // onPlane draws in metres of the plane, onFrame in points of the frame.
  onPlane(pen) {
    const k = this.sharp / this.perPoint;
    pen.setTransform(k, 0, 0, -k, this.sharp * this.width / 2 - k * this.x, this.sharp * this.height / 2 + k * this.y);
  }

  onFrame(pen) {
    pen.setTransform(this.sharp, 0, 0, this.sharp, 0, 0);
  }
}

// hands lets pointers, the wheel and keys move a view. It tells over(x, y) where a pointer
// is, click(x, y) where one clicked, both in points of the frame, and middle() where the
// keys were used, which read the middle of the frame.
function hands(view, told) {
  const canvas = view.canvas, down = new Map();
  let travelled = 0, apart = 0;
  const at = (e) => {
    const box = canvas.getBoundingClientRect();
    return [e.clientX - box.left, e.clientY - box.top];
  };
  const spread = () => {
    const [a, b] = [...down.values()];
    return { apart: Math.hypot(a[0] - b[0], a[1] - b[1]), x: (a[0] + b[0]) / 2, y: (a[1] + b[1]) / 2 };
  };
  canvas.addEventListener("pointerdown", (e) => {
    canvas.setPointerCapture(e.pointerId);
    down.set(e.pointerId, at(e));
    if (down.size === 1) travelled = 0;
    if (down.size === 2) apart = spread().apart;
  });
  canvas.addEventListener("pointermove", (e) => {
    const to = at(e), from = down.get(e.pointerId);
    told.over(...to);
    if (!from) return;
    if (down.size === 2) {
      const before = spread();
      down.set(e.pointerId, to);
      const now = spread();
      view.move(now.x - before.x, now.y - before.y);
      if (apart > 0 && now.apart > 0) view.zoom(now.apart / apart, now.x, now.y);
      apart = now.apart;
      travelled = Infinity;
      return;
    }
    travelled += Math.hypot(to[0] - from[0], to[1] - from[1]);
    down.set(e.pointerId, to);
    if (travelled > 4) view.move(to[0] - from[0], to[1] - from[1]);
  });
  const up = (e) => {
    if (down.delete(e.pointerId) && e.type === "pointerup" && travelled <= 4) told.click(...at(e));
  };
  canvas.addEventListener("pointerup", up);
  canvas.addEventListener("pointercancel", up);
  canvas.addEventListener("wheel", (e) => {
    e.preventDefault();
    const lines = e.deltaMode === 1 ? 30 : e.deltaMode === 2 ? 300 : 1;
    view.zoom(Math.exp(-Math.max(-240, Math.min(240, e.deltaY * lines)) / 400), ...at(e));
    told.over(...at(e));
  }, { passive: false });
  canvas.addEventListener("keydown", (e) => {
    if (e.ctrlKey || e.metaKey || e.altKey) return;
    const step = e.shiftKey ? 8 : 64;
    const moves = { ArrowLeft: [step, 0], ArrowRight: [-step, 0], ArrowUp: [0, step], ArrowDown: [0, -step] };
    if (moves[e.key]) view.move(...moves[e.key]);
    else if (e.key === "+" || e.key === "=") view.zoom(1.5);
    else if (e.key === "-" || e.key === "_") view.zoom(1 / 1.5);
    else if (e.key === "0" || e.key === "Home") {
      view.all();
      view.shown();
    } else if (e.key === "Enter" || e.key === " ") told.click(view.width / 2, view.height / 2);
    else return;
    e.preventDefault();
    told.middle();
  });
}
