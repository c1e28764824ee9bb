// The way of each conductor from terminal to terminal: straight where nothing stands between, else by a side track.

const STEP = 8;
const TRACK = 14;

export function routeWires(plan, sheet, point) {
  const steps = sheet.ranks.map(() => 0);
  const tracks = sheet.lanes.map(() => []);
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
    if (direct) route.points = [[a.u, a.v], [b.u, b.v]];
    else if (free(a.v, from + 1, to - 1)) route.points = stepped(a, b, channel(to - 1));
    else if (free(b.v, from + 1, to - 1)) route.points = stepped(a, b, channel(from));
    else {
      const index = trackFor(tracks[route.lane], from, to);
      const v = sheet.lanes[route.lane].below + index * TRACK;
      if (route.lane === sheet.lanes.length - 1) deepest = Math.max(deepest, (index + 1) * TRACK);
      const first = channel(from);
      const last = channel(to - 1);
      route.points = [[a.u, a.v], [first, a.v], [first, v], [last, v], [last, b.v], [b.u, b.v]];
    }
  }
  sheet.wires = routes.map((route) => asDrawn(route, sheet, point));
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

function stepped(a, b, u) {
  return [[a.u, a.v], [u, a.v], [u, b.v], [b.u, b.v]];
}

function blocked(plan, sheet, v, first, last) {
  for (let r = first; r <= last; r += 1)
    for (const id of plan.ranks[r].parts)
      for (const t of plan.parts.get(id).terminals) if (Math.abs(sheet.terminals.get(t).v - v) < 20) return true;
  return false;
}

function trackFor(tracks, from, to) {
  let index = tracks.findIndex((runs) => runs.every(([a, b]) => to <= a || from >= b));
  if (index < 0) index = tracks.push([]) - 1;
  tracks[index].push([from, to]);
  return index;
}

function asDrawn(route, sheet, point) {
  const { wire, points } = route;
  const ordered = route.swapped ? [...points].reverse() : points;
  const longest = longestRun(ordered);
  const [p, q] = longest;
  const middle = [(p[0] + q[0]) / 2, (p[1] + q[1]) / 2];
  const at = point(...middle);
  const runsAlong = p[1] === q[1];
  const drawn = { ...wire, lane: route.lane, points: ordered.map(([u, v]) => point(u, v)) };
  const lane = sheet.lanes[route.lane];
  const short = Math.abs(q[0] - p[0]) < 70;
  if (sheet.across) drawn.label = { x: at.x, y: short ? lane.label + 12 : at.y + 16, anchor: "middle", leader: short && runsAlong };
  else drawn.label = { x: at.x + 11, y: at.y + 4, anchor: "start", leader: false };
  if (wire.liftable) drawn.loose = looseEnd(wire, ordered, point);
  return drawn;
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
