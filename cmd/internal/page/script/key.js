// The key: each line says what a sign means, and shows or hides it.

// swatch draws the sign of a layer for its line of the key.
function swatch(layer) {
  const canvas = document.createElement("canvas");
  const sharp = 2, width = 44, height = 24;
  canvas.width = width * sharp;
  canvas.height = height * sharp;
  const pen = canvas.getContext("2d");
  const still = { x: width / 2, y: height / 2, width, height, perPoint: 1 };
  if (layer.base) {
    pen.setTransform(sharp, 0, 0, sharp, 0, 0);
    layer.base(pen, width, height);
    return canvas;
  }
  if (layer.shape === "area" || layer.shape === "line") {
    pen.setTransform(sharp, 0, 0, -sharp, 0, height * sharp);
    const path = new Path2D();
    if (layer.shape === "area") path.rect(3, 3, width - 6, height - 6);
    else {
      path.moveTo(2, height / 2);
      path.lineTo(width - 2, height / 2);
    }
    drawShape(pen, still, { kind: layer.shape, path, look: layer.look });
    return canvas;
  }
  pen.setTransform(sharp, 0, 0, sharp, 0, 0);
  const lettered = layer.features.find((f) => f.letter);
  drawMark(pen, layer.shape, layer.look, lettered ? lettered.letter : "", width / 2, height / 2);
  return canvas;
}

// bases are the lines of the key for the map itself.
function bases(sheet) {
  const list = [];
  if (sheet.margins && sheet.margins.sites.length > 0) {
    list.push({
      id: "margin", title: "Sighting margin of the chosen site", note: "the darker, the better seen; palest: at best only", shown: false,
      base: (pen, w, h) => marginTones.forEach(([, colour], i) => {
        pen.fillStyle = colour;
        pen.fillRect(3 + i * (w - 6) / marginTones.length, 3, (w - 6) / marginTones.length, h - 6);
      }),
    });
  }
  if (sheet.contours) {
    list.push({
      id: "contours", title: `Contours every ${heightWords(sheet.units, sheet.contours.step_m)}`, note: "", shown: true,
      base: (pen, w, h) => {
        pen.strokeStyle = contourInk;
        [[0.8, 4], [1.6, 0], [0.8, -4]].forEach(([width, off]) => {
          pen.lineWidth = width;
          pen.beginPath();
          pen.moveTo(2, h / 2 + off + 3);
          pen.quadraticCurveTo(w / 2, h / 2 + off - 7, w - 2, h / 2 + off + 3);
          pen.stroke();
        });
      },
    });
    list.push({
      id: "shade", title: "Shape of the ground, lit from the north-west", note: "", shown: true,
      base: (pen, w, h) => {
        const tone = pen.createLinearGradient(3, 3, w - 3, h - 3);
        tone.addColorStop(0, "#ffffff");
        tone.addColorStop(1, "#8c8c8c");
        pen.fillStyle = tone;
        pen.fillRect(3, 3, w - 6, h - 6);
      },
    });
  }
  if (sheet.zones.length > 0) {
    list.push({
      id: "grid", title: "UTM grid, zone " + sheet.zones.map((z) => z.zone).join(" and "), note: "figures are kilometres", shown: true,
      base: (pen, w, h) => {
        pen.strokeStyle = gridInk;
        pen.lineWidth = 1;
        pen.strokeRect(w / 2 - 9.5, 2.5, 19, 19);
      },
    });
  }
  return list;
}

// buildKey writes the key; changed is told after a click.
function buildKey(list, lines, changed) {
  for (const line of lines) {
    const item = document.createElement("li"), label = document.createElement("label"), box = document.createElement("input");
    box.type = "checkbox";
    box.checked = line.shown;
    box.dataset.layer = line.id;
    const title = document.createElement("span");
    title.className = "title";
    title.textContent = line.title;
    const picture = swatch(line);
    picture.setAttribute("aria-hidden", "true");
    label.append(box, picture, title);
    if (line.note) {
      const note = document.createElement("span");
      note.className = "note";
      note.textContent = line.note;
      label.append(note);
    }
    label.className = line.shown ? "" : "off";
    box.addEventListener("change", () => {
      line.shown = box.checked;
      label.className = line.shown ? "" : "off";
      changed(line);
    });
    line.show = (on) => {
      if (box.checked !== on) box.click();
    };
    item.append(label);
    list.append(item);
  }
}
