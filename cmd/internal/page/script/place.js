// Places: from the plane to the earth and to the words that people use for a position. All
// of it is looked up in the tables; here it is only written.

// placesOf returns what finds places on a sheet.
async function placesOf(sheet) {
  const plane = sheet.plane;
  const toEarth = await latticeOf(plane.to_earth), toPlane = await latticeOf(plane.to_plane);
  const zones = [];
  for (const z of sheet.zones) zones.push({ ...z, index: zones.length, find: z.grid ? await latticeOf(z.grid) : null });

  // on returns the place at metres from the south-western corner of the plane, null beyond it.
  const on = (x, y) => {
    const east = plane.x + x, north = plane.y + y, at = toEarth(east, north);
    return at && { x, y, east, north, lon: at[0], lat: at[1] };
  };
  // at returns the place at a longitude and latitude.
  const at = (lon, lat) => {
    for (const turn of [0, 360, -360]) {
      const found = toPlane(lon + turn, lat);
      if (found) return { x: found[0] - plane.x, y: found[1] - plane.y, east: found[0], north: found[1], lon: lon + turn, lat };
    }
    return null;
  };
  // grid returns the easting and northing of a place on the grid of its zone, null where no
  // grid is.
  const grid = (place) => {
    for (const box of sheet.boxes) {
      if (place.lon < box.west || place.lon > box.east || place.lat < box.south || place.lat > box.north) continue;
      const zone = zones[box.zone];
      const found = zone.find ? zone.find(place.lon, place.lat) : [place.east, place.north];
      if (found) return { zone, band: box.band, east: found[0], north: found[1] };
    }
    return null;
  };
  return { on, at, grid };
}

const noGrid = "no grid here";

// gridWords writes a grid reference: zone and band, square, and as many figures each way.
// Figures are cut, since a reference names the square that holds the place.
function gridWords(g, digits) {
  if (!g) return noGrid;
  const letters = g.zone.squares[`${Math.floor(g.east / 1e5)},${Math.floor(g.north / 1e5)}`];
  if (!letters) return noGrid;
  const figures = (v) => padded(Math.floor((v % 1e5) / 10 ** (5 - digits)), digits);
  return `${padded(g.zone.zone, 2)}${g.band} ${letters} ${figures(g.east)} ${figures(g.north)}`;
}

function utmWords(g) {
  if (!g) return noGrid;
  return `${g.zone.zone}${g.band} ${Math.round(g.east)} ${Math.round(g.north)}`;
}

function turned(lon) {
  return lon > 180 ? lon - 360 : lon < -180 ? lon + 360 : lon;
}

function decimalWords(p) {
  const lon = turned(p.lon);
  return `${Math.abs(p.lat).toFixed(5)} ${p.lat < 0 ? "S" : "N"}, ${Math.abs(lon).toFixed(5)} ${lon < 0 ? "W" : "E"}`;
}

// sixtieths writes both angles of a place, each by a function of its size in degrees.
function sixtieths(p, write) {
  const lon = turned(p.lon);
  return `${write(Math.abs(p.lat))}${p.lat < 0 ? "S" : "N"} ${write(Math.abs(lon))}${lon < 0 ? "W" : "E"}`;
}

function minuteWords(p) {
  return sixtieths(p, (deg) => {
    const n = Math.round(deg * 60000);
    return `${Math.floor(n / 60000)}°${padded(Math.floor(n / 1000) % 60, 2)}.${padded(n % 1000, 3)}'`;
  });
}

function secondWords(p) {
  return sixtieths(p, (deg) => {
    const n = Math.round(deg * 36000);
    return `${Math.floor(n / 36000)}°${padded(Math.floor(n / 600) % 60, 2)}'${padded(Math.floor(n / 10) % 60, 2)}.${n % 10}"`;
  });
}

function padded(n, width) {
  return String(n).padStart(width, "0");
}

// placeWords writes a place in a notation.
function placeWords(notation, p, g) {
  switch (notation) {
    case "decimal": return decimalWords(p);
    case "dms": return secondWords(p);
    case "utm": return utmWords(g);
    case "mgrs": return gridWords(g, 5);
  }
  return minuteWords(p);
}

// lengthWords writes a length on the ground, heightWords a height.
function lengthWords(units, m) {
  const long = m / units.long_m;
  return long < 1 ? `${(m / units.short_m).toFixed(0)} ${units.short}` : `${long.toFixed(long < 10 ? 2 : 1)} ${units.long}`;
}

function heightWords(units, m) {
  return m === null ? "not known" : `${(m / units.short_m).toFixed(0)} ${units.short}`;
}
