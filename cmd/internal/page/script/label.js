// Labels: names beside what they name. No box lies over another, over a sign or beyond
// the frame; what finds no room is left out until there is some.

const labelHeight = 15;

class Labels {
  constructor(pen, view) {
    this.pen = pen;
    this.view = view;
    this.taken = []; // boxes that nothing may cover
    this.placed = [];
  }

  take(box) {
    this.taken.push(box);
  }

  // free tells whether a box lies in the frame and on nothing that is taken.
  free(box) {
    const edge = 3;
    if (box.left < edge || box.top < edge || box.right > this.view.width - edge || box.bottom > this.view.height - edge) return false;
    return !this.taken.some((t) => box.left < t.right && t.left < box.right && box.top < t.bottom && t.top < box.bottom);
  }

  // put writes a text at the first of the centres that is free, and tells whether one was.
  put(text, centres, style) {
    this.pen.font = style.font;
    const half = this.pen.measureText(text).width / 2 + 3, tall = (style.height || labelHeight) / 2;
    for (const [x, y] of centres(half, tall)) {
      const box = { left: x - half, top: y - tall, right: x + half, bottom: y + tall };
      if (!this.free(box)) continue;
      this.take(box);
      this.placed.push({ text, ...box });
      this.write(text, x, y, style);
      return true;
    }
    return false;
  }

  write(text, x, y, style) {
    const pen = this.pen;
    pen.font = style.font;
    pen.textAlign = "center";
    pen.textBaseline = "middle";
    pen.lineJoin = "round";
    pen.setLineDash([]);
    pen.strokeStyle = paperInk;
    pen.globalAlpha = 0.9;
    pen.lineWidth = 3.5;
    pen.strokeText(text, x, y);
    pen.globalAlpha = 1;
    pen.fillStyle = style.colour;
    pen.fillText(text, x, y);
  }
}

// besidePoint returns the centres about the box of a sign, the best first.
function besidePoint(box) {
  const x = (box.left + box.right) / 2, y = (box.top + box.bottom) / 2, gap = 2;
  return (half, tall) => [
    [box.right + gap + half, y], [box.left - gap - half, y],
    [box.right + half, box.top - tall + 4], [box.right + half, box.bottom + tall - 4],
    [box.left - half, box.top - tall + 4], [box.left - half, box.bottom + tall - 4],
    [x, box.top - gap - tall], [x, box.bottom + gap + tall],
  ];
}

// onRows returns centres along lines, those in the middle part of what the frame shows first.
function onRows(view, rows, wanted) {
  const inside = [];
  for (const row of rows) {
    const every = 2 * Math.max(1, Math.floor(row.length / 2 / 160));
    for (let i = 0; i < row.length; i += every) {
      const [x, y] = view.point(row[i], row[i + 1]);
      if (x > 0 && y > 0 && x < view.width && y < view.height) inside.push([x, y]);
    }
  }
  const list = [];
  for (let k = 0; k < wanted && inside.length > 0; k++) {
    const share = (0.5 + k * 0.618034) % 1; // spread evenly, whatever their number
    list.push(inside[Math.floor(share * inside.length)]);
  }
  return () => list;
}

// inMiddle returns the middle of an area, where a label has room in it.
function inMiddle(view, rows) {
  const box = boxIn(view, rows);
  return (half, tall) => (box.right - box.left > 2.2 * half && box.bottom - box.top > 3 * tall ? [[(box.left + box.right) / 2, (box.top + box.bottom) / 2]] : []);
}

// boxIn returns the box of lines in the frame; of what lies beyond it nothing counts.
function boxIn(view, rows) {
  const box = { left: Infinity, top: Infinity, right: -Infinity, bottom: -Infinity };
  for (const row of rows) {
    for (let i = 0; i < row.length; i += 2) {
      const [x, y] = view.point(row[i], row[i + 1]);
      if (x < 0 || y < 0 || x > view.width || y > view.height) continue;
      box.left = Math.min(box.left, x);
      box.right = Math.max(box.right, x);
      box.top = Math.min(box.top, y);
      box.bottom = Math.max(box.bottom, y);
    }
  }
  return box;
}

// labelGrid writes the figures of grid lines where they run into the edge of the frame, the left
// and lower edge first: kilometres, their last two figures. indexAt tells whose grid holds at a
// point of the frame.
function labelGrid(labels, view, lines, step, indexAt) {
  const style = { font: "600 12px system-ui, sans-serif", colour: gridInk };
  for (const line of lines) {
    const km = padded(Math.floor(line.value / 1000) % 100, 2);
    const text = step >= 1000 ? km : `${km}.${Math.floor(line.value / 100) % 10}`;
    labels.put(text, (half, tall) => atEdges(view, line, half + 4, tall + 4).filter(([x, y]) => indexAt(x, y) === line.index), style);
  }
}

// atEdges returns where a line crosses the frame's edge, so far inside it.
function atEdges(view, line, insetX, insetY) {
  const right = view.width - insetX, bottom = view.height - insetY, found = [];
  for (let i = 2; i < line.row.length; i += 2) {
    const [ax, ay] = view.point(line.row[i - 2], line.row[i - 1]), [bx, by] = view.point(line.row[i], line.row[i + 1]);
    const cross = (a, b, edge) => (a - edge) * (b - edge) <= 0 && a !== b ? (edge - a) / (b - a) : NaN;
    if (line.north) {
      for (const edge of [insetX, right]) {
        const t = cross(ax, bx, edge);
        if (t >= 0) found.push([edge, ay + t * (by - ay)]);
      }
    } else {
      for (const edge of [bottom, insetY]) {
        const t = cross(ay, by, edge);
        if (t >= 0) found.push([ax + t * (bx - ax), edge]);
      }
    }
  }
  const first = ([x, y]) => (line.north ? x : view.height - y);
  return found.sort((a, b) => first(a) - first(b));
}

// labelLayers names what the layers show: points first, since they have least choice.
function labelLayers(labels, view, layers) {
  const shown = layers.filter((l) => l.shown);
  for (const layer of shown) {
    for (const f of layer.features) for (const m of f.marks) labels.take(f.box = markBox(layer.shape, f.look, m.x, m.y));
  }
  const font = "600 12.5px system-ui, sans-serif";
  const order = (l) => ({ ring: 0, triangle: 1, square: 1, diamond: 1, dot: 2, line: 3, area: 4 })[l.shape];
  for (const layer of [...shown].sort((a, b) => order(a) - order(b))) {
    for (const f of layer.features) {
      if (!f.label || !f.shown()) continue;
      if (f.kind === "point") labels.put(f.label, besidePoint(f.box), { font, colour: ink });
      else labels.put(f.label, f.inside ? inMiddle(view, f.rows) : onRows(view, f.rows, 24), { font: "italic " + font, colour: darker(f.look.colour) });
    }
  }
}

// labelContours writes heights on the thick contours.
function labelContours(labels, view, contours, units) {
  const font = "11px system-ui, sans-serif";
  for (const c of contours) {
    if (!c.index) continue;
    const text = (c.m / units.short_m).toFixed(0);
    let left = 2;
    for (const row of c.rows) {
      if (left > 0 && longIn(view, row) > 180) left -= labels.put(text, onRows(view, [row], 5), { font, colour: contourInk, height: 13 });
    }
  }
}

// longIn returns how long a line is in the frame [points], by its box.
function longIn(view, row) {
  const box = boxIn(view, [row]);
  return box.right > box.left ? Math.hypot(box.right - box.left, box.bottom - box.top) : 0;
}

// darker returns a colour in which small letters can be read on white.
function darker(colour) {
  const parts = [1, 3, 5].map((i) => parseInt(colour.slice(i, i + 2), 16));
  return `rgb(${parts.map((v) => Math.floor(v * 0.62)).join(",")})`;
}
