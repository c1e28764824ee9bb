// Groups in columns of at least so many pixels, in their order and about alike in height. A style sheet's own columns are
// balanced anew at each change, which takes long and lets groups jump; here a group keeps its place until the width changes.
import { el } from "./dom.js";

export function makeColumns(node, least, gap, weigh) {
  let nodes = new Map();
  let items = [];
  let width = 0;
  let shape = "";
  new ResizeObserver(([entry]) => {
    width = entry.contentRect.width;
    lay();
  }).observe(node);
  node.classList.add("ts-columns");
  node.style.gap = `${gap}px`;

  function lay() {
    const count = Math.max(1, Math.min(nodes.size, Math.floor((width + gap) / (least + gap))));
    const wide = (width - (count - 1) * gap) / count;
    const shares = split(items.map((item) => weigh(item, wide)), count);
    const wanted = JSON.stringify([[...nodes.keys()], shares]);
    if (wanted === shape) return;
    shape = wanted;
    const focused = node.contains(document.activeElement) ? document.activeElement : null;
    const all = [...nodes.values()];
    let next = 0;
    node.replaceChildren(...shares.map((share) => el("div", {}, ...all.slice(next, (next += share)))));
    if (focused && focused.isConnected) focused.focus({ preventScroll: true });
  }

  return (wanted, keyOf, make, patch) => {
    items = wanted;
    nodes = new Map(items.map((item) => [keyOf(item), nodes.get(keyOf(item)) || make(item)]));
    for (const item of items) patch(nodes.get(keyOf(item)), item);
    lay();
  };
}

// How many of the weights, in their order, go into each of so many columns, that the tallest is as low as can be.
function split(weights, count) {
  const fill = (tall) => {
    const shares = [0];
    let height = 0;
    for (const weight of weights) {
      if (shares[shares.length - 1] && height + weight > tall) {
        shares.push(0);
        height = 0;
      }
      shares[shares.length - 1] += 1;
      height += weight;
    }
    return shares;
  };
  const heights = weights.flatMap((_, i) => weights.slice(i).map((__, k) => weights.slice(i, i + k + 1).reduce((a, b) => a + b, 0)));
  const tall = heights.sort((a, b) => a - b).find((height) => Math.max(...weights) <= height && fill(height).length <= count);
  return fill(tall || 0);
}
