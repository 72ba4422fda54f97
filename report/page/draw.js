"use strict";
// Elements, and drawing as SVG. Text goes into the page as text only, never as
// markup.
(() => {
  const svgNS = "http://www.w3.org/2000/svg";

  const fill = (node, attributes, children) => {
    for (const [key, value] of Object.entries(attributes || {})) {
      if (value === null || value === undefined || value === false) continue;
      if (key === "text") node.textContent = value;
      else if (key.startsWith("on")) node.addEventListener(key.slice(2), value);
      else node.setAttribute(key, value === true ? "" : value);
    }
    for (const child of [].concat(children || [])) {
      if (child) node.append(child);
    }
    return node;
  };
  const make = (tag, attributes, children) => fill(document.createElement(tag), attributes, children);
  const svg = (tag, attributes, children) => fill(document.createElementNS(svgNS, tag), attributes, children);

  // canvas is an empty drawing of the given size in CSS pixels.
  const canvas = (width, height) =>
    svg("svg", { width, height, viewBox: "0 0 " + width + " " + height, "aria-hidden": "true", focusable: "false" });

  const round = (x) => Math.round(x * 100) / 100;

  // The marks: a ring came in time, a wedge is crowded, a cross is piled, a dot
  // cannot be told. Shape says it, colour only says it again.
  const marks = {
    ring: (x, y, r) => svg("circle", { cx: round(x), cy: round(y), r, class: "mark ring" }),
    dot: (x, y, r) => svg("circle", { cx: round(x), cy: round(y), r: r * 0.5, class: "mark dot" }),
    wedge: (x, y, r) => svg("path", { d: wedgePath(x, y, r * 1.25), class: "mark wedge" }),
    cross: (x, y, r) => svg("path", { d: crossPath(x, y, r * 1.15), class: "mark cross" }),
  };
  const wedgePath = (x, y, r) =>
    "M" + round(x - r) + " " + round(y + r * 0.8) + "h" + round(2 * r) + "L" + round(x) + " " + round(y - r) + "z";
  const crossPath = (x, y, r) =>
    "M" + round(x - r) + " " + round(y - r) + "l" + round(2 * r) + " " + round(2 * r) +
    "M" + round(x - r) + " " + round(y + r) + "l" + round(2 * r) + " " + round(-2 * r);
  const markOf = (pair) => {
    if (pair.spacing === "piled") return "cross";
    if (pair.spacing === "crowded") return "wedge";
    return pair.spacing === "clear" ? "ring" : "dot";
  };

  // ticks are round numbers between two ends, about as many as asked.
  const ticks = (from, to, about) => {
    const raw = (to - from) / Math.max(1, about);
    if (!(raw > 0)) return [from];
    const ten = Math.pow(10, Math.floor(Math.log10(raw)));
    const step = [1, 2, 5, 10].map((k) => k * ten).find((s) => s >= raw * 0.999);
    const out = [];
    for (let t = Math.ceil(from / step - 1e-9) * step; t <= to + step * 1e-6; t += step) out.push(Number(t.toPrecision(12)));
    return out;
  };

  // axes draws the frame of a chart with its numbers and names, and returns
  // where a pair of values stands.
  const axes = (root, box, x, y) => {
    const fx = (v) => box.left + ((v - x.from) / (x.to - x.from)) * (box.right - box.left);
    const fy = (v) => box.bottom - ((v - y.from) / (y.to - y.from)) * (box.bottom - box.top);
    for (const t of ticks(x.from, x.to, (box.right - box.left) / 72)) {
      if (x.least !== undefined && t < x.least) continue;
      root.append(
        svg("path", { d: "M" + round(fx(t)) + " " + box.top + "V" + (box.bottom + 6), class: "grid" }),
        svg("text", { x: round(fx(t)), y: box.bottom + 24, class: "tick middle", text: String(t) }),
      );
    }
    for (const t of ticks(y.from, y.to, (box.bottom - box.top) / 55)) {
      root.append(
        svg("path", { d: "M" + (box.left - 6) + " " + round(fy(t)) + "H" + box.right, class: "grid" }),
        svg("text", { x: box.left - 11, y: round(fy(t)) + 5, class: "tick end", text: String(t) }),
      );
    }
    root.append(
      svg("path", { d: "M" + box.left + " " + box.top + "V" + box.bottom + "H" + box.right, class: "frame" }),
      svg("text", { x: (box.left + box.right) / 2, y: box.bottom + 48, class: "axis middle", text: x.name }),
      svg("text", { x: box.left, y: box.top - 12, class: "axis", text: y.name }),
    );
    return { fx, fy };
  };

  // spread moves labels of the given widths apart, each as near to its own place
  // as it gets, between two ends. Places must be in rising order.
  const spread = (places, widths, left, right) => {
    const at = places.slice();
    for (let i = 0; i < at.length; i++) {
      const least = i === 0 ? left + widths[0] / 2 : at[i - 1] + (widths[i - 1] + widths[i]) / 2;
      at[i] = Math.max(at[i], least);
    }
    for (let i = at.length - 1; i >= 0; i--) {
      const most = i === at.length - 1 ? right - widths[i] / 2 : at[i + 1] - (widths[i + 1] + widths[i]) / 2;
      at[i] = Math.min(at[i], most);
    }
    return at;
  };

  // fitted calls draw with the width of a box now and whenever it changes.
  const fitted = (box, draw) => {
    let last = 0;
    const again = () => {
      const width = Math.floor(box.clientWidth);
      if (width > 0 && width !== last) {
        last = width;
        draw(width);
      }
    };
    // In the next frame: drawing can change the size that is being observed.
    new ResizeObserver(() => requestAnimationFrame(again)).observe(box);
    again();
  };

  // nearest is the one of a list that is least far off, if less than most; null
  // where none is.
  const nearest = (list, off, most = Infinity) => {
    let best = null;
    let least = most;
    for (const one of list) {
      const far = off(one);
      if (far < least) [best, least] = [one, far];
    }
    return best;
  };

  // byLine puts a list in order of the lines of the page, and gives those of one.
  const byLine = (list, lineOf) => {
    const lines = new Map();
    for (const one of list) {
      const line = lineOf(one);
      if (!lines.has(line)) lines.set(line, []);
      lines.get(line).push(one);
    }
    return (line) => lines.get(line) || [];
  };

  loosedog.draw = { make, svg, canvas, round, marks, markOf, ticks, axes, spread, fitted, nearest, byLine };
})();
