// The way of each conductor from terminal to terminal: straight where nothing stands between, else by a side track.

const STEP = 10;
const TRACK = 17;

export function routeWires(plan, sheet, point) {
  const steps = sheet.ranks.map(() => 0);
  const tracks = sheet.lanes.map(() => []);
  const shared = [];
  const routes = plan.wires.map((wire) => {
    const ends = [sheet.terminals.get(wire.from), sheet.terminals.get(wire.to)];
    const swapped = rankOf(plan, ends[0]) > rankOf(plan, ends[1]);
    const [a, b] = swapped ? [ends[1], ends[0]] : ends;
    return { wire, a, b, swapped, from: rankOf(plan, a), to: rankOf(plan, b), lane: Math.max(a.lane, b.lane) };
  });
  let deepest = 0;
  for (const route of routes) {
    const { a, b, from, to } = route;
    const free = (v, first, last) => !blocked(plan, sheet, v, first, last);
    const direct = from === to || (a.v === b.v && free(a.v, from + 1, to - 1));
    if (direct && from !== to) route.points = [[a.u, a.v], [b.u, b.v]];
    else if (from === to) route.points = sameStep(a, b);
    else if (free(a.v, from + 1, to - 1)) route.points = stepped(a, b, channel(to - 1));
    else if (free(b.v, from + 1, to - 1)) route.points = stepped(a, b, channel(from));
    else {
      const index = trackFor(sheet.across ? tracks[route.lane] : shared, from, to);
      const v = sheet.lanes[route.lane].below + index * TRACK;
      if (!sheet.across || route.lane === sheet.lanes.length - 1) deepest = Math.max(deepest, (index + 1) * TRACK);
      const first = channel(from);
      const last = channel(to - 1);
      route.points = [[a.u, a.v], [first, a.v], [first, v], [last, v], [last, b.v], [b.u, b.v]];
    }
  }
  sheet.wires = routes.map((route) => asDrawn(route, plan, sheet, point));
  spreadLabels(sheet.wires);
  return deepest;

  // Somewhere in the gap after a step; each further wire that turns there turns a little later.
  function channel(r) {
    const here = sheet.ranks[r];
    const next = sheet.ranks[r + 1];
    const k = steps[r]++;
    const middle = (here.at + here.half + next.at - next.half) / 2;
    return middle + (k % 2 ? 1 : -1) * Math.ceil(k / 2) * STEP;
  }
}

function rankOf(plan, terminal) {
  return plan.parts.get(terminal.part).rank;
}

// Between two terminals of one step: straight if nothing of the part lies between them, else around on their own side.
function sameStep(a, b) {
  if (a.u === b.u && a.side !== "mid" && Math.abs(a.v - b.v) > 30) {
    const u = a.u + (a.side === "in" ? -16 : 16);
    return [[a.u, a.v], [u, a.v], [u, b.v], [b.u, b.v]];
  }
  return [[a.u, a.v], [b.u, b.v]];
}

function stepped(a, b, u) {
  return [[a.u, a.v], [u, a.v], [u, b.v], [b.u, b.v]];
}

function blocked(plan, sheet, v, first, last) {
  for (let r = first; r <= last; r += 1)
    for (const id of plan.ranks[r].parts) {
      const spots = plan.parts.get(id).terminals.map((t) => sheet.terminals.get(t).v);
      const several = Math.max(...spots) - Math.min(...spots) > 1;
      const edge = sheet.across || !several ? 20 : 26;
      if (spots.some((spot) => Math.abs(spot - v) < 20)) return true;
      if (!sheet.across && v > Math.min(...spots) - edge && v < Math.max(...spots) + edge) return true;
    }
  return false;
}

function trackFor(tracks, from, to) {
  let index = tracks.findIndex((runs) => runs.every(([a, b]) => to <= a || from >= b));
  if (index < 0) index = tracks.push([]) - 1;
  tracks[index].push([from, to]);
  return index;
}

function asDrawn(route, plan, sheet, point) {
  const { wire, points } = route;
  const ordered = route.swapped ? [...points].reverse() : points;
  const drawn = { ...wire, lane: route.lane, points: ordered.map(([u, v]) => point(u, v)) };
  drawn.label = labelSpot(route, plan, sheet, point);
  if (wire.liftable) drawn.loose = looseEnd(wire, ordered, point);
  return drawn;
}

// Where there is most room for it: a short conductor is named in its gap (or at the edge of the place that it
// leaves), a long one in the middle of the place through which most of it runs.
function labelSpot(route, plan, sheet, point) {
  const [p, q] = longestRun(route.points);
  const band = sheet.bands.find((b) => route.from >= b.from && route.from <= b.to);
  const [low, high] = [Math.min(p[0], q[0]), Math.max(p[0], q[0])];
  if (high - low > 130) {
    const spans = sheet.bands.map((b) => [Math.max(low, startOf(b, sheet)), Math.min(high, endOf(b, sheet))]);
    const [from, to] = spans.reduce((best, span) => (span[1] - span[0] > best[1] - best[0] ? span : best));
    const at = point((from + to) / 2, p[1]);
    const onTrack = route.points.length === 6;
    return sheet.across ? { x: at.x, y: at.y + (onTrack ? 4 : 17), anchor: "middle" } : { x: at.x + 11, y: at.y + 4, anchor: "start" };
  }
  const leaves = route.to > band.to;
  const middle = point((p[0] + q[0]) / 2, (p[1] + q[1]) / 2);
  if (!sheet.across) return { x: middle.x + 11, y: leaves ? band.y + band.h - 7 : middle.y + 4, anchor: "start", leaves };
  const y = sheet.lanes[route.lane].label + 12;
  const leader = p[1] === q[1] ? { x: middle.x, from: middle.y + 5, to: y - 11 } : null;
  if (leaves) return { x: band.x + band.w - 5, y, anchor: "end", leader: leader && { ...leader, x: Math.min(leader.x, band.x + band.w - 12) } };
  // Beside a part that spans lanes the label stays outside of it.
  const wall = plan.parts.get(route.b.part).low !== plan.parts.get(route.b.part).high;
  return wall ? { x: q[0] + 4, y: y + 12, anchor: "end", leader } : { x: middle.x, y, anchor: "middle", leader };
}

function startOf(band, sheet) {
  return sheet.across ? band.x : band.y + band.headHeight;
}

function endOf(band, sheet) {
  return sheet.across ? band.x + band.w : band.y + band.h;
}

// Two labels on one spot: the later one goes a line lower.
function spreadLabels(wires) {
  const placed = [];
  for (const { label } of wires) {
    const meets = (other) => other.anchor === label.anchor && Math.abs(other.x - label.x) < 70 && Math.abs(other.y - label.y) < 12;
    for (let tries = 0; placed.some(meets) && tries < 5; tries += 1) label.y += 13;
    placed.push(label);
  }
}

function longestRun(points) {
  let best = [points[0], points[1]];
  let length = -1;
  for (let i = 1; i < points.length; i += 1) {
    const [a, b] = [points[i - 1], points[i]];
    const here = Math.abs(a[0] - b[0]) + Math.abs(a[1] - b[1]);
    if (here > length) [best, length] = [[a, b], here];
  }
  return best;
}

// Where the end of a lifted lead hangs: beside its terminal, off the line.
function looseEnd(wire, points, point) {
  const last = wire.lifts_at === "from" ? points[0] : points[points.length - 1];
  const next = wire.lifts_at === "from" ? points[1] : points[points.length - 2];
  const away = Math.sign(next[0] - last[0]) || -1;
  const [u, v] = [last[0] + away * 25, last[1] - 30];
  const kept = wire.lifts_at === "from" ? points.slice(1) : points.slice(0, -1);
  const way = wire.lifts_at === "from" ? [[u, v], [u + away * 6, v + 18], ...kept] : [...kept, [u + away * 6, v + 18], [u, v]];
  return { id: wire.end ? wire.end.id : null, name: wire.end ? wire.end.name : "", ...point(u, v), points: way.map((p) => point(...p)) };
}
