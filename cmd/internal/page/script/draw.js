// Drawing: ground, grid and layers on the canvas. Lengths in millimetres are those of a
// screen of 96 dots an inch, as style sheets have them.

const dotsInMM = 96 / 25.4 * 0.85, signsInMM = 96 / 25.4 * 1.2;
const ink = "#1c1c1a", contourInk = "#7b5836", gridInk = "#3f6f86", paperInk = "#ffffff";

// loadShapes reads the lines of all layers and contours, in the order in which they were
// packed, into paths in metres of the plane.
async function loadShapes(sheet) {
  const next = rowReader(await unpack(sheet.rows), sheet.unit_m);
  const trace = (path, row, closed) => {
    path.moveTo(row[0], row[1]);
    for (let i = 2; i < row.length; i += 2) path.lineTo(row[i], row[i + 1]);
    if (closed) path.closePath();
  };
  const contours = [];
  for (const level of sheet.contours ? sheet.contours.levels : []) {
    const path = new Path2D(), rows = [];
    for (let i = 0; i < level.lines; i++) {
      const row = next();
      trace(path, row, false);
      if (level.index) rows.push(row);
    }
    contours.push({ m: level.m, index: level.index, path, rows });
  }
  for (const layer of sheet.layers) {
    for (const f of layer.features) {
      f.path = new Path2D();
      f.rows = [];
      for (let i = 0; i < f.parts; i++) {
        const row = next();
        f.rows.push(row);
        trace(f.path, row, f.kind === "area");
      }
      f.layer = layer;
    }
  }
  return contours;
}

// hatch fills the clipped region with lines of one direction, which keep their place on the
// ground.
function hatch(pen, view, look) {
  const gap = look.hatch_gap_mm * dotsInMM * view.perPoint, a = look.hatch_deg * Math.PI / 180;
  const along = [Math.cos(a), Math.sin(a)], across = [-along[1], along[0]];
  const size = Math.hypot(view.width, view.height) * view.perPoint / 2;
  const middle = view.x * across[0] + view.y * across[1], centre = view.x * along[0] + view.y * along[1];
  pen.beginPath();
  for (let k = Math.ceil((middle - size) / gap); k * gap <= middle + size; k++) {
    const c = k * gap;
    pen.moveTo(across[0] * c + along[0] * (centre - size), across[1] * c + along[1] * (centre - size));
    pen.lineTo(across[0] * c + along[0] * (centre + size), across[1] * c + along[1] * (centre + size));
  }
  pen.lineWidth = 0.9 * view.perPoint;
  pen.setLineDash([]);
  pen.globalAlpha = 0.75;
  pen.stroke();
  pen.globalAlpha = 1;
}

// drawShape draws an area or a line; the pen is on the plane.
function drawShape(pen, view, f) {
  const look = f.look;
  pen.strokeStyle = pen.fillStyle = look.colour;
  if (f.kind === "area") {
    if (look.fill > 0) {
      pen.globalAlpha = look.fill;
      pen.fill(f.path, "evenodd");
      pen.globalAlpha = 1;
    }
    if (look.hatch_gap_mm > 0) {
      pen.save();
      pen.clip(f.path, "evenodd");
      hatch(pen, view, look);
      pen.restore();
    }
  }
  const width = Math.max(look.width_mm * dotsInMM, 1);
  pen.lineJoin = pen.lineCap = "round";
  if (f.kind === "line" && look.dash_mm.length === 0) { // a light edge keeps a line apart from what lies below
    pen.strokeStyle = paperInk;
    pen.globalAlpha = 0.75;
    pen.lineWidth = (width + 2.4) * view.perPoint;
    pen.setLineDash([]);
    pen.stroke(f.path);
    pen.globalAlpha = 1;
    pen.strokeStyle = look.colour;
  }
  if (look.dash_mm.length > 0) pen.lineCap = "butt";
  pen.lineWidth = width * view.perPoint;
  pen.setLineDash(look.dash_mm.map((mm) => mm * dotsInMM * view.perPoint));
  pen.stroke(f.path);
  pen.setLineDash([]);
}

// drawMark draws the sign of a point; the pen is on the frame.
function drawMark(pen, shape, look, letter, x, y) {
  const r = markRadius(look);
  pen.lineJoin = "round";
  pen.lineCap = "butt";
  pen.beginPath();
  if (shape === "triangle") {
    pen.moveTo(x, y - 1.35 * r);
    pen.lineTo(x + 1.3 * r, y + 0.9 * r);
    pen.lineTo(x - 1.3 * r, y + 0.9 * r);
    pen.closePath();
  } else if (shape === "diamond") {
    for (const [dx, dy] of [[0, -1], [1, 0], [0, 1], [-1, 0]]) pen.lineTo(x + 1.2 * r * dx, y + 1.2 * r * dy);
    pen.closePath();
  } else if (shape === "square") {
    pen.rect(x - r, y - r, 2 * r, 2 * r);
  } else {
    pen.arc(x, y, shape === "ring" ? 1.1 * r : r, 0, 2 * Math.PI);
  }
  pen.setLineDash([]);
  pen.strokeStyle = paperInk;
  pen.lineWidth = 4.5;
  pen.stroke();
  pen.fillStyle = letter || shape === "diamond" ? paperInk : look.colour;
  pen.fill();
  pen.strokeStyle = look.colour;
  pen.lineWidth = shape === "diamond" ? 3 : 2;
  pen.setLineDash(look.dash_mm.map((mm) => mm * dotsInMM));
  pen.stroke();
  pen.setLineDash([]);
  if (letter) {
    pen.fillStyle = ink;
    pen.font = `700 ${(letter.length > 1 ? 0.85 : 1.15) * r}px system-ui, sans-serif`;
    pen.textAlign = "center";
    pen.textBaseline = "middle";
    pen.fillText(letter, x, y + (shape === "triangle" ? 0.22 * r : 0.05 * r));
  }
}

// placeMarks returns where signs stand, the first layers of the key first: a lettered sign that
// would hide another steps aside, and a line leads to its place. One letter is one place.
function placeMarks(view, layers) {
  const marks = [];
  const crowded = (a) => marks.some((m) => Math.hypot(m.x - a.x, m.y - a.y) < m.r + a.r && !(m.layer === a.layer && m.f.letter === a.f.letter));
  for (const layer of [...layers].reverse()) {
    if (!layer.shown) continue;
    for (const f of layer.features) {
      f.marks = [];
      if (f.kind !== "point" || !f.shown()) continue;
      for (const row of f.rows) {
        const [px, py] = view.point(row[0], row[1]), r = markRadius(f.look), mark = { layer, f, px, py, x: px, y: py, r };
        for (let k = 0; f.letter && k < 12 && crowded(mark); k++) {
          const turn = Math.PI / 4 * (1 + k % 6 + (k > 5 ? 0.5 : 0)), far = (k < 6 ? 2.7 : 3.8) * r;
          [mark.x, mark.y] = [px + far * Math.cos(turn), py + far * Math.sin(turn)];
        }
        marks.push(mark);
        f.marks.push(mark);
      }
    }
  }
  return marks.reverse();
}

function drawMarks(pen, marks) {
  for (const m of marks) {
    if (m.x !== m.px || m.y !== m.py) {
      pen.setLineDash([]);
      for (const [colour, width] of [[paperInk, 3.4], [m.f.look.colour, 1.4]]) {
        pen.strokeStyle = pen.fillStyle = colour;
        pen.lineWidth = width;
        pen.beginPath();
        pen.moveTo(m.px, m.py);
        pen.lineTo(m.x, m.y);
        pen.stroke();
        pen.beginPath();
        pen.arc(m.px, m.py, width === 1.4 ? 2.2 : 3.4, 0, 2 * Math.PI);
        pen.fill();
      }
    }
    drawMark(pen, m.layer.shape, m.f.look, m.f.letter, m.x, m.y);
  }
}

function markRadius(look) {
  return Math.max(look.width_mm * signsInMM / 2, 3);
}

// markBox returns the box that the sign of a point takes.
function markBox(shape, look, x, y) {
  const r = markRadius(look) + 2;
  const k = shape === "triangle" || shape === "diamond" ? 1.3 : 1.1;
  return { left: x - k * r, top: y - k * r, right: x + k * r, bottom: y + k * r };
}

// drawContours draws those that the scale bears: the thin ones only where they stand apart.
function drawContours(pen, view, contours, stepM) {
  view.onPlane(pen);
  pen.strokeStyle = contourInk;
  pen.setLineDash([]);
  pen.lineJoin = "round";
  const fine = stepM / view.perPoint > 1.8; // on ground of 30 degrees 3 points apart
  for (const c of contours) {
    if (!c.index && !fine) continue;
    pen.globalAlpha = c.index ? 0.85 : 0.5;
    pen.lineWidth = (c.index ? 1.15 : 0.7) * view.perPoint;
    pen.stroke(c.path);
  }
  pen.globalAlpha = 1;
}

// gridStep returns how far apart grid lines are drawn, in metres.
function gridStep(view) {
  for (const step of [100, 1000, 10000]) if (step / view.perPoint >= 32) return step;
  return 100000;
}

// zoneArea returns where a zone holds, as a path on the plane.
function zoneArea(sheet, index) {
  const area = new Path2D();
  for (const box of sheet.boxes) {
    if (box.zone !== index) continue;
    for (let i = 0; i < box.edge.length; i += 2) area[i ? "lineTo" : "moveTo"](box.edge[i] * sheet.unit_m, box.edge[i + 1] * sheet.unit_m);
    area.closePath();
  }
  return area;
}

// gridRows returns the lines of a zone's grid that the frame shows, each with its easting or
// northing: straight ones on the plane's own grid, and the curved ones that Go made.
function gridRows(view, sheet, zone, step) {
  if (zone.grid) {
    const every = Math.max(step / 1000, 1);
    return zone.lines.filter((l) => l.km % every === 0).map((l) => ({ value: 1000 * l.km, north: l.north, row: l.line.map((v) => v * sheet.unit_m) }));
  }
  const [west, south, east, north] = view.shows(), plane = sheet.plane, rows = [];
  for (let e = step * Math.ceil((plane.x + west) / step); e <= plane.x + east; e += step) {
    rows.push({ value: e, north: false, row: [e - plane.x, south, e - plane.x, north] });
  }
  for (let n = step * Math.ceil((plane.y + south) / step); n <= plane.y + north; n += step) {
    rows.push({ value: n, north: true, row: [west, n - plane.y, east, n - plane.y] });
  }
  return rows;
}

// drawGrid draws the grid of each zone where it holds, and returns its lines.
function drawGrid(pen, view, sheet, step) {
  const lines = [];
  view.onPlane(pen);
  pen.strokeStyle = gridInk;
  pen.setLineDash([]);
  pen.globalAlpha = 0.55;
  pen.lineWidth = 0.8 * view.perPoint;
  sheet.zones.forEach((zone, index) => {
    pen.save();
    if (sheet.zones.length > 1) pen.clip(zoneArea(sheet, index));
    pen.beginPath();
    for (const line of gridRows(view, sheet, zone, step)) {
      for (let i = 0; i < line.row.length; i += 2) pen[i ? "lineTo" : "moveTo"](line.row[i], line.row[i + 1]);
      lines.push({ ...line, index });
    }
    pen.stroke();
    pen.restore();
  });
  pen.globalAlpha = 1;
  return lines;
}

// scaleBar returns the length of the bar [m on the ground] and its width in the frame.
function scaleBar(view, plane, units) {
  const most = Math.min(view.width * 0.3, 180), perPoint = view.perPoint / plane.scale;
  const unit = most * perPoint >= units.long_m ? units.long_m : units.short_m;
  let best = 0;
  for (let decade = 1; decade * unit <= most * perPoint; decade *= 10) {
    for (const k of [1, 2, 5]) if (k * decade * unit <= most * perPoint) best = k * decade;
  }
  return { value: best, unit: unit === units.long_m ? units.long : units.short, width: best * unit / perPoint };
}

function drawScale(pen, view, plane, units) {
  const bar = scaleBar(view, plane, units), x = 14, y = view.height - 16;
  const box = { left: x - 8, top: y - 24, right: x + bar.width + 44, bottom: y + 10 };
  plate(pen, box);
  pen.strokeStyle = pen.fillStyle = ink;
  pen.lineWidth = 1;
  const half = bar.width / 2;
  pen.fillRect(x, y - 2, half, 5);
  pen.strokeRect(x + half, y - 1.5, half, 4);
  pen.font = "12px system-ui, sans-serif";
  pen.textBaseline = "alphabetic";
  pen.textAlign = "left";
  pen.fillText("0", x - 1, y - 7);
  pen.textAlign = "center";
  pen.fillText(`${bar.value} ${bar.unit}`, x + bar.width, y - 7);
  return box;
}

function plate(pen, box) {
  pen.globalAlpha = 0.86;
  pen.fillStyle = paperInk;
  pen.fillRect(box.left, box.top, box.right - box.left, box.bottom - box.top);
  pen.globalAlpha = 1;
}

// drawNorth draws true north with a star and magnetic north with a half arrow; up is the
// north of the grid.
function drawNorth(pen, view, north) {
  const x = view.width - 34, foot = 92, length = 56;
  const box = { left: x - 26, top: 8, right: x + 26, bottom: foot + 8 };
  plate(pen, box);
  const tip = (deg, l) => [x + l * Math.sin(deg * Math.PI / 180), foot - l * Math.cos(deg * Math.PI / 180)];
  pen.strokeStyle = pen.fillStyle = ink;
  pen.lineWidth = 1.2;
  pen.setLineDash([]);
  pen.font = "700 12px system-ui, sans-serif";
  pen.textAlign = "center";
  pen.textBaseline = "middle";
  const [tx, ty] = tip(north.true_deg, length);
  pen.beginPath();
  pen.moveTo(x, foot);
  pen.lineTo(tx, ty);
  pen.stroke();
  pen.beginPath();
  pen.moveTo(tx, ty - 2);
  pen.lineTo(tx + 5, ty + 12);
  pen.lineTo(tx - 5, ty + 12);
  pen.closePath();
  pen.fill();
  pen.fillText("N", tx, ty - 11);
  if (north.magnetic_deg !== null) {
    const [mx, my] = tip(north.magnetic_deg, length * 0.82), side = north.magnetic_deg < north.true_deg ? -1 : 1;
    pen.beginPath();
    pen.moveTo(x, foot);
    pen.lineTo(mx, my);
    pen.lineTo(mx + side * 5, my + 9);
    pen.stroke();
    pen.font = "11px system-ui, sans-serif";
    pen.fillText("M", mx + side * 9, my + 1);
  }
  return box;
}

// drawReticle marks the middle of the frame, which the keys read: four corners about it.
function drawReticle(pen, view) {
  const x = view.width / 2, y = view.height / 2, r = 11, arm = 5;
  pen.lineCap = "round";
  for (const [colour, width] of [[paperInk, 4], [ink, 1.6]]) {
    pen.strokeStyle = colour;
    pen.lineWidth = width;
    pen.beginPath();
    for (const [sx, sy] of [[1, 1], [1, -1], [-1, 1], [-1, -1]]) {
      pen.moveTo(x + sx * r, y + sy * (r - arm));
      pen.lineTo(x + sx * r, y + sy * r);
      pen.lineTo(x + sx * (r - arm), y + sy * r);
    }
    pen.stroke();
  }
}
