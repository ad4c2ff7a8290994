// The profile: the ground between two places, drawn. It gives no verdict.

// sample returns the ground between two places of the plane, heights lowered by the table of
// the earth's drop, and the ends of the straight line between eyes.
function sampleProfile(sheet, on, height, a, b) {
  const p = sheet.profile, length = Math.hypot(b[0] - a[0], b[1] - a[1]) / sheet.plane.scale;
  const drop = (d) => {
    const u = d / p.step_m, i = Math.min(Math.floor(u), p.drop_m.length - 2);
    return p.drop_m[i] + (u - i) * (p.drop_m[i + 1] - p.drop_m[i]);
  };
  const points = [];
  for (let i = 0; i <= p.points; i++) {
    const t = i / p.points, place = on(a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1]));
    const z = place && height(place);
    points.push({ d: t * length, z: z === null ? null : z, low: z === null ? null : z - drop(t * length), level: -drop(t * length) });
  }
  return { length, points, from: points[0], to: points[points.length - 1] };
}

// drawProfile draws what sampleProfile returned.
function drawProfile(canvas, section, sheet) {
  const sharp = Math.min(window.devicePixelRatio || 1, 3), box = canvas.getBoundingClientRect();
  const width = box.width, height = box.height;
  canvas.width = Math.round(width * sharp);
  canvas.height = Math.round(height * sharp);
  const pen = canvas.getContext("2d"), units = sheet.units, eye = sheet.profile.eye_m;
  pen.setTransform(sharp, 0, 0, sharp, 0, 0);
  const known = section.points.filter((p) => p.low !== null);
  if (known.length < 2) return;
  const tops = known.map((p) => p.low), low = Math.min(...tops), high = Math.max(...tops) + eye;
  const pad = { left: 46, right: 12, top: 14, bottom: 24 };
  const x = (d) => pad.left + (width - pad.left - pad.right) * d / section.length;
  const y = (z) => height - pad.bottom - (height - pad.top - pad.bottom) * (z - low) / Math.max(high - low, 1);
  pen.font = "11px system-ui, sans-serif";
  pen.fillStyle = ink;
  pen.textBaseline = "middle";
  pen.textAlign = "right";
  for (const z of [low, high]) pen.fillText(heightWords(units, z), pad.left - 5, y(z));
  pen.textBaseline = "alphabetic";
  pen.textAlign = "left";
  pen.fillText("1", pad.left, height - 8);
  pen.textAlign = "right";
  pen.fillText(`2, ${lengthWords(units, section.length)}`, width - pad.right, height - 8);
  pen.fillStyle = "#d9d4c6";
  pen.strokeStyle = ink;
  pen.lineWidth = 1.4;
  let run = [];
  const flush = () => {
    if (run.length > 1) {
      pen.beginPath();
      run.forEach((p) => pen.lineTo(x(p.d), y(p.low)));
      pen.stroke();
      pen.lineTo(x(run[run.length - 1].d), height - pad.bottom);
      pen.lineTo(x(run[0].d), height - pad.bottom);
      pen.fill();
    }
    run = [];
  };
  for (const p of section.points) {
    if (p.low === null) flush();
    else run.push(p);
  }
  flush();
  if (section.from.low === null || section.to.low === null) return;
  pen.strokeStyle = "#0072b2";
  pen.setLineDash([6, 3]);
  pen.beginPath();
  pen.moveTo(x(0), y(section.from.low + eye));
  pen.lineTo(x(section.length), y(section.to.low + eye));
  pen.stroke();
  pen.setLineDash([]);
}

function profileWords(section, units) {
  const known = section.points.filter((p) => p.z !== null);
  if (known.length < 2) return "No heights are known between the two places.";
  const heights = known.map((p) => p.z);
  const gap = known.length < section.points.length ? " Gaps are ground without a height." : "";
  return `${lengthWords(units, section.length)} from 1 to 2; ground from ${heightWords(units, Math.min(...heights))} to ${heightWords(units, Math.max(...heights))}.${gap}`;
}
