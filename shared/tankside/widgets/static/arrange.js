// Where parts stand, in steps along the current and in lanes across it. Worked out from the wires alone.
// A step ("rank") holds the parts that stand side by side; a run of steps in one place is a "band".

const LANE_OF_ROLE = { "hot": "hot", "switched hot": "hot", "neutral": "neutral", "ground": "ground", "bond": "ground" };
const LANE_ORDER = ["hot", "neutral", "ground", "dc+", "dc-", "case"];
const MAINS = new Set(["hot", "switched hot", "neutral"]);
const FEEDS = new Set(["hot", "switched hot", "dc+"]);

export function laneOfRole(role) {
  return LANE_OF_ROLE[role] || role;
}

// "apart": the mains side stands before the 12 V side, so that each has the sheet's whole width; else side by side.
export function arrange(view, apart = false) {
  const terminals = new Map();
  const parts = new Map();
  for (const part of view.parts) {
    if (!part.terminals.length) continue; // nothing to wire: it stands in the list of other parts
    parts.set(part.id, { id: part.id, place: part.place, type: part.type, name: part.name, terminals: [] });
    for (const t of part.terminals) {
      const short = t.name.startsWith(part.name) ? t.name.slice(part.name.length).replace(/^[,\s]+/, "") || t.name : t.name;
      terminals.set(t.id, { id: t.id, part: part.id, name: t.name, short, wires: [], lane: null });
      parts.get(part.id).terminals.push(t.id);
    }
  }
  const wires = view.wires.filter((w) => terminals.has(w.from) && terminals.has(w.to));
  for (const wire of wires) {
    terminals.get(wire.from).wires.push(wire);
    terminals.get(wire.to).wires.push(wire);
  }
  for (const part of parts.values()) part.side = apart ? sideOf(part, terminals) : 0;
  const laneAt = (wire, part) => (apart && wire.role === "bond" && part.side === 1 ? "case" : laneOfRole(wire.role));
  const lanes = lanesUsed([...parts.values()].flatMap((part) => part.terminals.flatMap((id) => terminals.get(id).wires.map((w) => laneAt(w, part)))));
  for (const part of parts.values()) spanLanes(part, terminals, lanes, laneAt);
  const ranks = rankParts(view, parts, terminals, wires);
  for (const part of parts.values()) chooseSides(part, parts, terminals);
  const groups = lanes.map((lane) => (apart && (lane === "case" || lane.startsWith("dc")) ? 1 : 0));
  if ([...parts.values()].some((part) => part.side === 0.5 && meets(part, terminals, groups))) return arrange(view);
  const slots = lanes.map(() => 1);
  for (const part of parts.values()) giveSlots(part, terminals, slots);
  return { lanes, groups, slots, parts, terminals, wires, ranks, bands: bandsOf(ranks) };
}

// True if a part of both sides has terminals of both on one edge: the two can't share the sheet's width.
function meets(part, terminals, groups) {
  return ["in", "mid", "out"].some((side) => new Set(part.terminals.map((id) => terminals.get(id)).filter((t) => t.side === side).map((t) => groups[t.lane])).size > 1);
}

// 0 on the mains side, 1 on the 12 V side, between the two if it has both.
function sideOf(part, terminals) {
  const roles = part.terminals.flatMap((id) => terminals.get(id).wires.map((w) => w.role));
  const direct = roles.some((role) => role.startsWith("dc"));
  return direct ? (roles.some((role) => MAINS.has(role)) ? 0.5 : 1) : 0;
}

function lanesUsed(names) {
  const used = [...new Set(names)];
  const known = LANE_ORDER.filter((lane) => used.includes(lane));
  return [...known, ...used.filter((lane) => !LANE_ORDER.includes(lane))];
}

function spanLanes(part, terminals, lanes, laneAt) {
  let low = lanes.length;
  let high = -1;
  for (const id of part.terminals) {
    const terminal = terminals.get(id);
    const found = terminal.wires.map((w) => lanes.indexOf(laneAt(w, part)));
    terminal.lane = found.length ? Math.min(...found) : 0;
    low = Math.min(low, terminal.lane);
    high = Math.max(high, terminal.lane);
  }
  part.low = high < 0 ? 0 : low;
  part.high = Math.max(high, part.low);
}

function rankParts(view, parts, terminals, wires) {
  const before = new Map([...parts.keys()].map((id) => [id, new Set()]));
  const fed = new Set();
  for (const wire of wires) {
    const a = terminals.get(wire.from).part;
    const b = terminals.get(wire.to).part;
    if (!FEEDS.has(wire.role) || a === b) continue;
    before.get(b).add(a);
    fed.add(a).add(b);
  }
  const ranks = [];
  for (const id of inOrderOfCurrent(view, parts, before, fed)) {
    const part = parts.get(id);
    const known = [...before.get(id)].map((p) => parts.get(p).rank).filter((r) => r !== undefined);
    let rank = Math.max(-1, ...known) + 1;
    while (rank < ranks.length && !hasRoom(ranks[rank], part, parts)) rank += 1;
    if (rank === ranks.length) ranks.push({ place: part.place, side: part.side, parts: [] });
    ranks[rank].parts.push(id);
    part.rank = rank;
  }
  for (const part of parts.values()) if (part.rank === undefined) standBeside(part, parts, terminals, ranks);
  return ranks;
}

// Each part after those that feed it; as long as it can, it stays in one place before it goes to the next.
function inOrderOfCurrent(view, parts, before, fed) {
  const places = view.places.map((p) => p.id);
  const left = [...parts.keys()].filter((id) => fed.has(id));
  const order = [];
  let here = null;
  while (left.length) {
    let ready = left.filter((id) => [...before.get(id)].every((p) => order.includes(p)));
    if (!ready.length) ready = [left[0]]; // the wires run in a ring: break it at the first part
    ready.sort((a, b) => parts.get(a).side - parts.get(b).side || standing(a) - standing(b));
    const next = ready[0];
    order.push(next);
    here = parts.get(next).place;
    left.splice(left.indexOf(next), 1);
  }
  return order;

  function standing(id) {
    const place = parts.get(id).place;
    return place === here ? -1 : places.indexOf(place);
  }
}

function hasRoom(rank, part, parts) {
  if (rank.place !== part.place || rank.side !== part.side) return false;
  return rank.parts.every((id) => parts.get(id).high < part.low || parts.get(id).low > part.high);
}

// A part that no current feeds (the tank) stands where it has room, nearest to what it is joined to.
function standBeside(part, parts, terminals, ranks) {
  const joined = [];
  for (const id of part.terminals)
    for (const wire of terminals.get(id).wires)
      for (const end of [wire.from, wire.to]) {
        const other = parts.get(terminals.get(end).part);
        if (other !== part && other.rank !== undefined) joined.push(other.rank);
      }
  const wanted = joined.length ? Math.max(...joined) - 1 : 0;
  let best = -1;
  ranks.forEach((rank, r) => {
    if (hasRoom(rank, part, parts) && (best < 0 || Math.abs(r - wanted) < Math.abs(best - wanted))) best = r;
  });
  if (best < 0) {
    best = ranks.findLastIndex((rank) => rank.place === part.place && rank.side === part.side) + 1;
    best = best || ranks.findLastIndex((rank) => rank.side <= part.side) + 1;
    ranks.splice(best, 0, { place: part.place, side: part.side, parts: [] });
    for (const other of parts.values()) if (other.rank !== undefined && other.rank >= best) other.rank += 1;
  }
  ranks[best].parts.push(part.id);
  part.rank = best;
}

// "in" faces the step before, "out" the step after, "mid" both.
function chooseSides(part, parts, terminals) {
  for (const id of part.terminals) {
    const terminal = terminals.get(id);
    const others = terminal.wires.map((w) => parts.get(terminals.get(w.from === id ? w.to : w.from).part).rank);
    if (others.length && others.every((r) => r < part.rank)) terminal.side = "in";
    else if (others.length && others.every((r) => r > part.rank)) terminal.side = "out";
    else terminal.side = "mid";
  }
}

function giveSlots(part, terminals, slots) {
  const taken = {};
  for (const id of part.terminals) {
    const t = terminals.get(id);
    const here = (taken[t.lane] = taken[t.lane] || { in: 0, out: 0 });
    t.slot = t.side === "mid" ? Math.max(here.in, here.out) : here[t.side];
    if (t.side === "mid") here.in = here.out = t.slot + 1;
    else here[t.side] = t.slot + 1;
    slots[t.lane] = Math.max(slots[t.lane], t.slot + 1);
  }
}

function bandsOf(ranks) {
  const bands = [];
  ranks.forEach((rank, r) => {
    const last = bands[bands.length - 1];
    if (last && last.place === rank.place) last.to = r;
    else bands.push({ place: rank.place, from: r, to: r, again: bands.some((b) => b.place === rank.place) });
  });
  return bands;
}
