// Ground: a flat plane around a place, strips as polygons on it, areas and distances in metres.
// Over the two kilometres of a large field the plane errs by less than a millimetre in a metre; a phone errs by metres.

// WGS 84: equatorial radius [m] and square of the eccentricity.
const EQUATOR_M = 6_378_137;
const ECCENTRICITY2 = 0.00669437999014;
const MOST_CELLS = 20_000;

// A plane with its origin at a place; returns a function from (lon, lat) to [x, y] in metres.
export function planeAt(lon0, lat0) {
  const rad = Math.PI / 180;
  const bend = 1 - ECCENTRICITY2 * Math.sin(lat0 * rad) ** 2;
  const east_m = (rad * Math.cos(lat0 * rad) * EQUATOR_M) / Math.sqrt(bend);
  const north_m = (rad * EQUATOR_M * (1 - ECCENTRICITY2)) / bend ** 1.5;
  return ([lon, lat]) => [(lon - lon0) * east_m, (lat - lat0) * north_m];
}

export function inside([x, y], ring) {
  let found = false;
  for (let i = 0, j = ring.length - 1; i < ring.length; j = i, i += 1) {
    const [[xi, yi], [xj, yj]] = [ring[i], ring[j]];
    if (yi > y !== yj > y && x < ((xj - xi) * (y - yi)) / (yj - yi) + xi) found = !found;
  }
  return found;
}

// Distance from a point to the nearest edge of a ring [m].
export function edgeDistance([x, y], ring) {
  let least = Infinity;
  for (let i = 0, j = ring.length - 1; i < ring.length; j = i, i += 1) {
    const [[ax, ay], [bx, by]] = [ring[j], ring[i]];
    const [dx, dy] = [bx - ax, by - ay];
    const length2 = dx * dx + dy * dy;
    const along = length2 ? Math.max(0, Math.min(1, ((x - ax) * dx + (y - ay) * dy) / length2)) : 0;
    least = Math.min(least, Math.hypot(x - ax - along * dx, y - ay - along * dy));
  }
  return least;
}

// Area of a ring [m2], whichever way round it was walked.
export function area(ring) {
  let twice = 0;
  for (let i = 0, j = ring.length - 1; i < ring.length; j = i, i += 1) {
    twice += ring[j][0] * ring[i][1] - ring[i][0] * ring[j][1];
  }
  return Math.abs(twice) / 2;
}

// The strip one stands in, judged by position, its accuracy and the strips' edges.
// Gives {strip, sure, edge_m, near: [strip numbers that may be meant, nearest first], off_m}.
export function judge(position, strips) {
  const plane = planeAt(position.lon, position.lat);
  const all = strips
    .map((s) => {
      const ring = s.outline.map(plane);
      const within = inside([0, 0], ring);
      const edge_m = edgeDistance([0, 0], ring);
      return { strip: s.strip, within, edge_m, away_m: within ? 0 : edge_m };
    })
    .sort((a, b) => a.away_m - b.away_m || b.edge_m - a.edge_m);
  if (!all.length) return { strip: null, sure: false, edge_m: null, near: [], off_m: null };
  const [first] = all;
  const sure = first.within && position.accuracy_m <= first.edge_m;
  const near = all.filter((s) => s.away_m <= position.accuracy_m).map((s) => s.strip);
  return {
    strip: first.within ? first.strip : null,
    sure,
    edge_m: first.edge_m,
    near: sure ? [first.strip] : near.length ? near : [first.strip],
    off_m: first.away_m,
  };
}

// How much of a walked round patch lies in each strip's weighed cut [m2]; counted on a fine grid, so any shape will do.
export function areaInStrips(track, strips) {
  const plane = planeAt(track[0][0], track[0][1]);
  const patch = track.map(plane);
  const [xs, ys] = [patch.map((p) => p[0]), patch.map((p) => p[1])];
  const [x0, x1, y0, y1] = [Math.min(...xs), Math.max(...xs), Math.min(...ys), Math.max(...ys)];
  const cell = Math.max(0.1, Math.sqrt(((x1 - x0) * (y1 - y0)) / MOST_CELLS));
  const cuts = strips.map((s) => ({ strip: s.strip, ring: (s.cut_outline || s.outline).map(plane), cells: 0 }));
  let every = 0;
  for (let x = x0 + cell / 2; x < x1; x += cell) {
    for (let y = y0 + cell / 2; y < y1; y += cell) {
      if (!inside([x, y], patch)) continue;
      every += 1;
      const there = cuts.find((c) => inside([x, y], c.ring));
      if (there) there.cells += 1;
    }
  }
  const whole_m2 = area(patch);
  const share = every ? whole_m2 / every : 0;
  const hit = cuts.filter((c) => c.cells).map((c) => ({ strip: c.strip, area_m2: c.cells * share }));
  return { whole_m2, hit: hit.filter((h) => h.area_m2 >= 0.05).sort((a, b) => a.strip - b.strip) };
}

// Whether a walked line crosses itself: then its area means nothing.
export function crossesItself(ring) {
  const turn = (a, b, c) => Math.sign((b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]));
  const n = ring.length;
  for (let i = 0; i < n; i += 1) {
    for (let j = i + 2; j < n; j += 1) {
      if (i === 0 && j === n - 1) continue;
      const [a, b, c, d] = [ring[i], ring[(i + 1) % n], ring[j], ring[(j + 1) % n]];
      if (turn(a, b, c) * turn(a, b, d) < 0 && turn(c, d, a) * turn(c, d, b) < 0) return true;
    }
  }
  return false;
}
