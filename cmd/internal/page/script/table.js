// Tables: what Go packed, unpacked and looked up. Nothing is computed here but the places
// between two entries.

// unpack returns the bytes of a packed table.
async function unpack(text) {
  const packed = Uint8Array.from(atob(text), (c) => c.charCodeAt(0));
  const plain = new Blob([packed]).stream().pipeThrough(new DecompressionStream("deflate"));
  return new Response(plain).arrayBuffer();
}

// latticeOf returns a function from a place to the pair that its table holds there, null
// beyond the table.
async function latticeOf(t) {
  const values = new Float64Array(await unpack(t.values));
  return (x, y) => {
    const u = (x - t.x0) / t.dx, v = (y - t.y0) / t.dy;
    if (!(u >= 0 && v >= 0 && u <= t.cols - 1 && v <= t.rows - 1)) return null;
    const c = Math.min(Math.floor(u), t.cols - 2), r = Math.min(Math.floor(v), t.rows - 2);
    const i = 2 * (r * t.cols + c), j = i + 2 * t.cols, a = u - c, b = v - r;
    const between = (k) => (1 - b) * ((1 - a) * values[i + k] + a * values[i + 2 + k]) +
      b * ((1 - a) * values[j + k] + a * values[j + 2 + k]);
    return [between(0), between(1)];
  };
}

// codesOf returns one code a cell, from differences that stand in planes of bytes.
async function codesOf(text, cols, rows, width) {
  const bytes = new Uint8Array(await unpack(text)), n = cols * rows;
  const codes = width === 2 ? new Uint16Array(n) : new Uint8Array(n);
  for (let i = 0; i < n; i++) {
    const before = i % cols > 0 ? codes[i - 1] : i > 0 ? codes[i - cols] : 0;
    codes[i] = before + bytes[i] + (width === 2 ? bytes[n + i] << 8 : 0);
  }
  return codes;
}

// rowReader returns a function that reads one row of positions after the other, in metres
// from the south-western corner of the plane.
function rowReader(buffer, unit) {
  const bytes = new Uint8Array(buffer);
  let at = 0;
  const whole = () => {
    let v = 0, place = 1, byte;
    do {
      byte = bytes[at++];
      v += (byte & 127) * place;
      place *= 128;
    } while (byte > 127);
    return v;
  };
  const signed = () => {
    const v = whole();
    return v % 2 ? -(v + 1) / 2 : v / 2;
  };
  return () => {
    const row = new Float32Array(2 * whole());
    let x = 0, y = 0;
    for (let i = 0; i < row.length; i += 2) {
      x += signed();
      y += signed();
      row[i] = x * unit;
      row[i + 1] = y * unit;
    }
    return row;
  };
}

// cellOf returns the column and row of a place in a raster.
function cellOf(frame, place) {
  const x = frame.lon_lat ? place.lon : place.east, y = frame.lon_lat ? place.lat : place.north;
  return [(x - frame.x0) / frame.dx, (frame.y0 - y) / frame.dy];
}

// heightAt returns the height between the four cells around a place, null where one that
// counts has none.
function heightAt(ground, codes, place) {
  const f = ground.frame, slack = 1e-5;
  let [col, row] = cellOf(f, place);
  if (!(col >= -slack && row >= -slack && col <= f.cols - 1 + slack && row <= f.rows - 1 + slack)) return null;
  col = Math.min(Math.max(col, 0), f.cols - 1);
  row = Math.min(Math.max(row, 0), f.rows - 1);
  const c = Math.max(Math.min(Math.floor(col), f.cols - 2), 0), r = Math.max(Math.min(Math.floor(row), f.rows - 2), 0);
  const u = col - c, v = row - r;
  let sum = 0;
  for (const [dc, dr, share] of [[0, 0, (1 - u) * (1 - v)], [1, 0, u * (1 - v)], [0, 1, (1 - u) * v], [1, 1, u * v]]) {
    if (share <= slack) continue;
    const code = codes[(r + dr) * f.cols + c + dc];
    if (!code) return null;
    sum += share * (code - 1);
  }
  return ground.base_m + ground.step_m * sum;
}

// codeAt returns the code of the cell that holds a place, 0 beyond the raster.
function codeAt(frame, codes, place) {
  const [col, row] = cellOf(frame, place);
  const c = Math.round(col), r = Math.round(row);
  return c >= 0 && r >= 0 && c < frame.cols && r < frame.rows ? codes[r * frame.cols + c] : 0;
}
