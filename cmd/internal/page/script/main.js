// The page: tables are unpacked, parts put together, and read.

// The tones of a margin by the power of ten from which they hold.
const marginTones = [[-9, "rgba(0,158,115,.14)"], [0, "rgba(0,158,115,.34)"], [0.5, "rgba(0,140,100,.5)"], [1, "rgba(0,110,80,.62)"], [2, "rgba(0,80,58,.74)"]];

const element = (id) => document.getElementById(id);

// marginLayer paints the margin of a site, one dot for each dot of the ground's picture.
function marginLayer(sheet, site, codes, places) {
  const g = sheet.ground, m = sheet.margins, canvas = document.createElement("canvas");
  canvas.width = g.shade_cols;
  canvas.height = g.shade_rows;
  const pen = canvas.getContext("2d");
  const toneOf = (code) => {
    const log10 = m.base_log10 + (code - 1) * m.step_log10;
    return marginTones.findLastIndex(([from]) => log10 >= from - m.step_log10 / 2);
  };
  const tones = m.words.map((_, code) => (code === 0 ? -1 : toneOf(code)));
  for (let row = 0; row < g.shade_rows; row++) {
    let from = 0, tone = -1;
    for (let col = 0; col <= g.shade_cols; col++) {
      const place = col < g.shade_cols && places.on(g.shade_x + (col + 0.5) * g.shade_m, g.shade_y - (row + 0.5) * g.shade_m);
      const now = place ? tones[codeAt(site.frame, codes, place)] : -1;
      if (now === tone) continue;
      if (tone >= 0) {
        pen.fillStyle = marginTones[tone][1];
        pen.fillRect(from, row, col - from, 1);
      }
      [from, tone] = [col, now];
    }
  }
  return canvas;
}

// nearest returns the feature that a click at a point of the frame means, the uppermost first.
function nearest(pen, view, layers, px, py) {
  for (const layer of [...layers].reverse()) {
    if (!layer.shown) continue;
    for (const f of [...layer.features].reverse()) {
      if (!f.shown()) continue;
      if (f.kind === "point") {
        if (f.marks.some((m) => Math.hypot(m.x - px, m.y - py) < 14)) return f;
        continue;
      }
      view.onPlane(pen);
      pen.lineWidth = 12 * view.perPoint;
      pen.setLineDash([]);
      if (pen.isPointInStroke(f.path, px * view.sharp, py * view.sharp)) return f;
    }
  }
  return null;
}

// begin unpacks the sheet in the page and shows it; what it hears of the window ends with
// the signal.
async function begin(signal) {
  const sheet = JSON.parse(element("sheet").textContent);
  if (!sheet.rows) {
    element("wait").textContent = "Nothing in this plan has a place, so there is no map.";
    return;
  }
  const places = await placesOf(sheet), contours = await loadShapes(sheet), ground = sheet.ground;
  const heights = ground && await codesOf(ground.codes, ground.frame.cols, ground.frame.rows, 2);
  const sites = sheet.margins ? sheet.margins.sites : [];
  for (const s of sites) s.cells = await codesOf(s.codes, s.frame.cols, s.frame.rows, 1);
  const shade = new Image();
  if (ground) {
    shade.src = ground.shade;
    await shade.decode();
  }
  const height = (place) => (ground ? heightAt(ground, heights, place) : null);
  const margin = (place) => (sites.length ? codeAt(sites[state.site].frame, sites[state.site].cells, place) : 0);
  const state = { site: 0, pointer: null, keys: false, profile: null, painted: null, labels: [], found: null };

  const layers = sheet.layers, base = {}, baseLines = bases(sheet);
  for (const l of layers) {
    l.shown = !l.off;
    for (const f of l.features) f.shown = () => f.site < 0 || f.site === state.site;
  }
  for (const l of baseLines) base[l.id] = l;
  const canvas = element("map"), pen = canvas.getContext("2d");
  let asked = 0;
  const later = () => {
    asked ||= requestAnimationFrame(() => {
      asked = 0;
      draw();
    });
  };
  const view = new View(canvas, sheet.plane, later);
  const on = (id) => base[id] && base[id].shown;

  function draw() {
    pen.setTransform(1, 0, 0, 1, 0, 0);
    pen.globalAlpha = 1;
    pen.fillStyle = "#f4f2ea";
    pen.fillRect(0, 0, canvas.width, canvas.height);
    drawBase();
    const step = gridStep(view);
    const gridLines = on("grid") ? drawGrid(pen, view, sheet, step) : [];
    view.onPlane(pen);
    for (const l of layers) if (l.shown) for (const f of l.features) if (f.kind !== "point" && f.shown()) drawShape(pen, view, f);
    view.onFrame(pen);
    const labels = new Labels(pen, view);
    labels.take(drawScale(pen, view, sheet.plane, sheet.units));
    labels.take(drawNorth(pen, view, sheet.north));
    labels.take(zoomBox());
    drawMarks(pen, placeMarks(view, layers));
    drawEnds(labels);
    labelLayers(labels, view, layers);
    labelGrid(labels, view, gridLines, step, gridIndex);
    if (on("contours")) labelContours(labels, view, contours, sheet.units);
    if (state.keys) drawReticle(pen, view);
    state.labels = labels.placed;
  }

  function drawBase() {
    view.onPlane(pen);
    if (ground) {
      pen.save();
      pen.translate(ground.shade_x, ground.shade_y);
      pen.scale(ground.shade_m, -ground.shade_m);
      if (on("shade")) pen.drawImage(shade, 0, 0);
      else {
        pen.fillStyle = paperInk;
        pen.fillRect(0, 0, ground.shade_cols, ground.shade_rows);
      }
      if (on("margin")) {
        state.painted ||= marginLayer(sheet, sites[state.site], sites[state.site].cells, places);
        pen.imageSmoothingEnabled = false;
        pen.drawImage(state.painted, 0, 0);
        pen.imageSmoothingEnabled = true;
      }
      pen.restore();
    }
    if (on("contours")) drawContours(pen, view, contours, sheet.contours.step_m);
  }

  // gridIndex returns which zone's grid holds at a point of the frame, -1 beyond the tables.
  function gridIndex(px, py) {
    if (sheet.zones.length === 1) return 0;
    const place = places.on(...view.place(px, py)), g = place && places.grid(place);
    return g ? g.zone.index : -1;
  }

  function zoomBox() {
    const frame = canvas.getBoundingClientRect(), box = element("zoom").getBoundingClientRect();
    return { left: box.left - frame.left - 4, top: box.top - frame.top - 4, right: box.right - frame.left + 4, bottom: box.bottom - frame.top + 4 };
  }

  // drawEnds marks the ends of a profile.
  function drawEnds(labels) {
    if (!state.profile) return;
    const ends = state.profile.map(([x, y]) => view.point(x, y));
    pen.strokeStyle = "#0072b2";
    pen.lineWidth = 2;
    pen.setLineDash([6, 3]);
    pen.beginPath();
    ends.forEach(([x, y]) => pen.lineTo(x, y));
    pen.stroke();
    pen.setLineDash([]);
    ends.forEach(([x, y], i) => {
      drawMark(pen, "ring", { colour: "#0072b2", width_mm: 4, dash_mm: [] }, String(i + 1), x, y);
      labels.take(markBox("ring", { width_mm: 4 }, x, y));
    });
  }

  // read writes what is under a point of the frame, and returns it in words.
  function read(px, py) {
    const place = places.on(...view.place(px, py));
    const say = (id, text) => {
      if (element(id)) element(id).textContent = text;
    };
    if (!place) {
      say("read-grid", "beyond the map");
      for (const id of ["read-place", "read-height", "read-margin"]) say(id, "–");
      return "beyond the map";
    }
    const g = places.grid(place), grid = gridWords(g, 4), z = heightWords(sheet.units, height(place));
    say("read-grid", grid);
    say("read-place", placeWords(element("notation").value, place, g));
    say("read-height", z);
    const words = sites.length ? sheet.margins.words[margin(place)] : "";
    say("read-margin", words);
    return [grid, ground && `height ${z}`, words].filter(Boolean).join(", ");
  }

  const speak = (text) => {
    element("said").textContent = text;
  };

  function click(px, py) {
    if (state.profile) return addEnd(px, py);
    view.onPlane(pen);
    state.found = nearest(pen, view, layers, px, py);
    view.onFrame(pen);
    element("here").hidden = !state.found;
    element("facts").replaceChildren(...(state.found ? [state.found.layer.title, ...state.found.facts] : []).map((line) => {
      const li = document.createElement("li");
      li.textContent = line;
      return li;
    }));
    speak(read(px, py));
  }

  function addEnd(px, py) {
    if (state.profile.length === 2) state.profile = [];
    state.profile.push(view.place(px, py));
    const full = state.profile.length === 2;
    element("section-words").textContent = full ? "" : "Now the other end.";
    if (full) showProfile();
    later();
  }

  function showProfile() {
    const section = sampleProfile(sheet, places.on, height, ...state.profile), words = profileWords(section, sheet.units);
    element("section-words").textContent = words;
    element("section-drawing").setAttribute("aria-label", "Profile: " + words);
    drawProfile(element("section-drawing"), section, sheet);
  }

  hands(view, {
    over: (x, y) => {
      state.pointer = [x, y];
      if (state.keys) later();
      state.keys = false;
      read(x, y);
    },
    click,
    middle: () => {
      state.keys = true;
      speak(read(view.width / 2, view.height / 2));
      later();
    },
  });
  canvas.addEventListener("focus", () => {
    if (!canvas.matches(":focus-visible")) return;
    state.keys = true;
    read(view.width / 2, view.height / 2);
    later();
  });
  canvas.addEventListener("blur", () => {
    state.keys = false;
    later();
  });
  element("zoom-in").addEventListener("click", () => view.zoom(1.5));
  element("zoom-out").addEventListener("click", () => view.zoom(1 / 1.5));
  element("zoom-all").addEventListener("click", () => {
    view.all();
    later();
  });
  const reread = () => {
    const [x, y] = state.keys || !state.pointer ? [view.width / 2, view.height / 2] : state.pointer;
    return read(x, y);
  };
  element("notation").value = sheet.notation;
  element("notation").addEventListener("change", reread);
  if (sites.length) {
    element("site").append(...sites.map((s, i) => new Option(s.name, i)));
    element("site").addEventListener("change", () => choose(Number(element("site").value)));
  } else if (element("margin-line")) element("margin-line").hidden = true;

  function choose(i) {
    state.site = i;
    state.painted = null;
    element("site").value = i;
    reread();
    later();
  }

  const pressed = (id, on) => element(id).setAttribute("aria-pressed", String(on));
  if (ground) {
    element("profile").addEventListener("click", () => {
      state.profile = state.profile ? null : [];
      pressed("profile", Boolean(state.profile));
      element("section").hidden = !state.profile;
      element("section-words").textContent = state.profile ? "Click one end on the map, or press Enter for its middle." : "";
      const drawing = element("section-drawing");
      drawing.width = drawing.width; // wiped
      later();
    });
  }
  element("red").addEventListener("click", () => pressed("red", document.documentElement.classList.toggle("red")));
  element("print").addEventListener("click", () => window.print());
  // On paper stands what the screen showed, as sharp as paper bears.
  let onScreen = null;
  addEventListener("beforeprint", () => {
    onScreen ||= { box: view.shows(), x: view.x, y: view.y, perPoint: view.perPoint };
    view.resize(3);
    view.show(onScreen.box);
    draw();
  }, { signal });
  addEventListener("afterprint", () => {
    view.resize();
    if (!view.whole) [view.x, view.y, view.perPoint] = [onScreen.x, onScreen.y, onScreen.perPoint];
    onScreen = null;
    draw();
  }, { signal });
  buildKey(element("key"), [...[...layers].reverse(), ...baseLines], later);
  const sized = new ResizeObserver(() => {
    view.resize();
    draw();
    if (state.profile && state.profile.length === 2) showProfile();
  });
  sized.observe(element("frame"));
  if (signal) signal.addEventListener("abort", () => sized.disconnect());
  element("wait").remove();
  view.resize();
  draw();
  reread();

  // For tests and for whoever wants figures out of the page.
  window.farhail = {
    at: (lon, lat) => {
      const place = places.at(lon, lat);
      if (!place) return null;
      const g = places.grid(place), code = margin(place);
      return {
        grid: gridWords(g, 4), mgrs: gridWords(g, 5), utm: utmWords(g), easting: g && g.east, northing: g && g.north,
        ddm: minuteWords(place), dms: secondWords(place), decimal: decimalWords(place), height_m: height(place),
        margin_log10: code ? sheet.margins.base_log10 + (code - 1) * sheet.margins.step_log10 : null,
        point: view.point(place.x, place.y),
      };
    },
    under: (px, py) => {
      const place = places.on(...view.place(px, py));
      return place && { lon: turned(place.lon), lat: place.lat };
    },
    choose,
    sites: sites.map((s) => s.name),
    labels: () => state.labels,
    frame: () => ({ width: view.width, height: view.height, perPoint: view.perPoint }),
    whole: () => view.whole,
    look: (lon, lat, perPoint) => {
      const place = places.at(lon, lat);
      if (!place) return;
      view.whole = false;
      [view.x, view.y, view.perPoint] = [place.x, place.y, perPoint];
      view.bound();
      later();
    },
    found: () => state.found && state.found.facts,
  };
}
